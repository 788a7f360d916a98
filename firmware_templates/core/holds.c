#include "holds.h"

/* Ends what ends with this sample; returns the samples until the next end, 0 when nothing runs on.  A count of samples
 * modulo 256 is enough: a slot waits at most 255 samples and is met on the very sample on which it falls due. */
static uint8_t group_end_holds(struct group_state *group, uint8_t sample)
{
    struct slot *slot;
    while ((slot = group->holds.oldest)->mask != 0 && slot->value == sample) {
        lane_states[slot->lane].listen |= slot->mask;
        slot_ring_drop(&group->holds);
    }
    return slot->mask != 0 ? (uint8_t)(slot->value - sample) : 0;
}

void holds_end_due(struct pace *pace)
{
    uint8_t least = 0;
    for (struct group_state *group = group_states; group != group_states + GROUP_COUNT; group++) {
        if (group->pace == pace && group->hold_count != 0) {
            uint8_t wait = group_end_holds(group, pace->sample);
            if ((uint8_t)(wait - 1) < (uint8_t)(least - 1)) { /* 0, for none, counts as 256 */
                least = wait;
            }
        }
    }
    pace->hold_wait = least;
}

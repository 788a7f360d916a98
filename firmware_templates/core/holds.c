#include "holds.h"

/* A count of samples modulo 256 is enough: a slot waits at most 255 samples and is met on the very sample on which it
 * falls due. */
void holds_end_due(struct group_state *group)
{
    uint8_t next = (uint8_t)(group->hold_due - group->hold_count);
    struct slot *slot = group->holds.oldest;
    const struct slot *end = group->holds.end;
    while (slot->mask != 0 && slot->value == next) {
        lane_states[slot->lane].listen |= slot->mask;
        slot->mask = 0;
        if (++slot == end) {
            slot = group->holds.first;
        }
    }
    group->holds.oldest = slot;
}

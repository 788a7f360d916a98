#include "holds.h"

#include "lanes.h"
#include "port.h"

/* A ring can never overflow: it has as many slots as the group has contacts, every entry stands for at least one
 * contact, and a contact is in at most one entry because it is not listened to while it is in one. */
void holds_begin(struct group_state *group, uint8_t lane, uint8_t mask)
{
    struct hold *hold = group->hold_next;
    PORT_ASSERT(hold->mask == 0);
    hold->lane = lane;
    hold->mask = mask;
    hold->due = (uint8_t)(group->samples + group->hold_count);
    lane_states[lane].listen &= (uint8_t)~mask;
    if (++hold == group->hold_end) {
        hold = group->hold_first;
    }
    group->hold_next = hold;
}

/* Hold-offs end behind the readings of a sample, never before them, so that they delay no contact.  A count of samples
 * modulo 256 is enough: an entry waits at most 255 samples and is met on the very sample on which it falls due. */
void holds_end_due(struct group_state *group)
{
    uint8_t next = ++group->samples;
    struct hold *hold = group->hold_oldest;
    if (hold->mask == 0) {
        return;
    }
    while (hold->mask != 0 && hold->due == next) {
        lane_states[hold->lane].listen |= hold->mask;
        hold->mask = 0;
        if (++hold == group->hold_end) {
            hold = group->hold_first;
        }
    }
    group->hold_oldest = hold;
}

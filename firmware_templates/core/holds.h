/* The hold-offs of the first-edge family.
 *
 * All hold-offs of a group last equally long, so they end in the order in which they began: a ring per group holds them
 * (the value of a slot is the number, modulo 256, of the sample that compares its contacts again), and only the oldest
 * needs looking at.
 */
#ifndef HOLDS_H
#define HOLDS_H

#include "groups.h"
#include "lanes.h"
#include "port.h"

/* From the present sample of the group on, the contacts `mask` of a lane are not listened to.
 *
 * The ring can never overflow: it has as many slots as the group has contacts, every slot stands for at least one
 * contact, and a contact is in at most one slot because it is not listened to while it is in one. */
static inline __attribute__((always_inline)) void holds_begin(struct group_state *group, uint8_t lane,
                                                              struct lane_state *state, uint8_t mask)
{
    PORT_ASSERT(group->holds.next->mask == 0);
    state->listen ^= mask;
    slot_ring_put(&group->holds, mask, group->hold_due, lane);
}

/* After a sample of the group: listens again to the contacts that the next sample compares.
 *
 * Hold-offs end behind the readings of a sample, never before them, so that they delay no contact.  A count of samples
 * modulo 256 is enough: a slot waits at most 255 samples and is met on the very sample on which it falls due. */
static inline void holds_end_due(struct group_state *group)
{
    uint8_t next = ++group->sample;
    const struct slot *oldest = group->holds.oldest;
    group->hold_due++;
    while (oldest->mask != 0 && oldest->value == next) {
        lane_states[oldest->lane].listen |= oldest->mask;
        slot_ring_drop(&group->holds);
        oldest = group->holds.oldest;
    }
}

#endif

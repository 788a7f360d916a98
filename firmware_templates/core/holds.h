/* The hold-offs of the first-edge family.
 *
 * All hold-offs of a group last equally long, so they end in the order in which they began: a ring per group holds
 * them (the value of a slot is the number, modulo 256, of the sample that compares its contacts again), and only the
 * oldest needs looking at.
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
    struct slot *slot = group->holds.next;
    PORT_ASSERT(slot->mask == 0);
    state->listen ^= mask;
    slot_ring_put(&group->holds, slot, mask, group->hold_due, lane);
}

/* Listens again to the contacts whose hold-offs end with the present sample of the group. */
void holds_end_due(struct group_state *group);

/* Behind the readings of a sample, never before them, so that it delays no contact: counts the sample, and listens
 * again to the contacts that the next one compares.  Whether the oldest falls due is asked here, inline: while
 * hold-offs merely run, as they do in most scans of a busy group, nothing is called. */
static inline __attribute__((always_inline)) void holds_turn(struct group_state *group)
{
    group->hold_due++;
    const struct slot *oldest = group->holds.oldest;
    if (oldest->mask != 0 && oldest->value == (uint8_t)(group->hold_due - group->hold_count)) {
        holds_end_due(group);
    }
}

#endif

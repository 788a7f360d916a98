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

/* Hold-offs of a pace may have begun with the present sample: they are looked at when the shortest would end.  To be
 * called before the turn. */
static inline __attribute__((always_inline)) void holds_expect(struct pace *pace)
{
    if ((uint8_t)(pace->hold_wait - 1) >= pace->hold_least) { /* later, or not at all: 0 counts as 256 */
        pace->hold_wait = pace->hold_least;
    }
}

/* From `sample` on, the present one of the group, the contacts `mask` of a lane are not listened to (the lane has been
 * told).  The pace is to be told as well, see holds_expect.
 *
 * The ring can never overflow: it has as many slots as the group has contacts, every slot stands for at least one
 * contact, and a contact is in at most one slot because it is not listened to while it is in one. */
static inline __attribute__((always_inline)) void holds_begin(struct group_state *group, uint8_t lane, uint8_t mask,
                                                              uint8_t sample)
{
    struct slot *slot = slot_ring_free(&group->holds);
    PORT_ASSERT(slot->mask == 0);
    slot_ring_put(&group->holds, slot, mask, (uint8_t)(sample + group->hold_count), lane);
}

/* Listens again to the contacts whose hold-offs end with the coming sample of this pace. */
void holds_end_due(struct pace *pace);

/* Behind the readings of a sample, never before them, so that it delays no contact: counts the sample, and listens
 * again to the contacts that the next one compares.  While hold-offs merely run, as they do in most scans of a busy
 * console, nothing is called. */
static inline __attribute__((always_inline)) void holds_turn(struct pace *pace)
{
    pace->sample++;
    if (pace->hold_wait != 0 && --pace->hold_wait == 0) {
        holds_end_due(pace);
    }
}

#endif

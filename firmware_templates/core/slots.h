/* A ring of slots, each of which holds contacts of one lane and a byte to remember with them.
 *
 * Two kinds of rings are made of it: hold-offs that are running, and changes that wait for the wire.  Behind its slots
 * stands one more that is never free: whoever fills a slot looks for the end only where the next one is not free.
 */
#ifndef SLOTS_H
#define SLOTS_H

#include "port.h"

#define SLOT_END 0xFFu /* the mask of the slot behind the others */

struct slot_ring {
    struct slot *next;   /* slot that is filled next, or `end`, which stands for the first */
    struct slot *oldest; /* the slot filled longest ago; the ring is empty while it is free */
    struct slot *first;  /* the slots: from here */
    struct slot *end;    /* to before here */
};

/* A ring of so many slots, behind which stands one more. */
static inline void slot_ring_begin(struct slot_ring *ring, struct slot *slots, uint16_t count)
{
    ring->first = slots;
    ring->end = slots + count;
    ring->next = slots;
    ring->oldest = slots;
    for (struct slot *slot = slots; slot != ring->end; slot++) {
        slot->mask = 0;
    }
    ring->end->mask = SLOT_END;
}

/* The slot that is filled next; when it is not free, the ring is full. */
static inline __attribute__((always_inline)) struct slot *slot_ring_free(const struct slot_ring *ring)
{
    struct slot *slot = ring->next;
    if (slot->mask != 0 && slot == ring->end) {
        slot = ring->first;
    }
    return slot;
}

/* Fills `slot`, which slot_ring_free gave and which must be free. */
static inline __attribute__((always_inline)) void slot_ring_put(struct slot_ring *ring, struct slot *slot, uint8_t mask,
                                                                uint8_t value, uint8_t lane)
{
    ring->next = port_slot_fill(slot, mask, value, lane);
}

/* Frees the oldest slot. */
static inline void slot_ring_drop(struct slot_ring *ring)
{
    struct slot *oldest = ring->oldest;
    oldest->mask = 0;
    oldest++;
    ring->oldest = oldest == ring->end ? ring->first : oldest;
}

#endif

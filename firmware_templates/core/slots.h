/* A ring of slots, each of which holds contacts of one lane and a byte to remember with them.
 *
 * Two kinds of rings are made of it: hold-offs that are running, and changes that wait for the wire.
 */
#ifndef SLOTS_H
#define SLOTS_H

#include "port.h"

struct slot_ring {
    struct slot *next;   /* slot that is filled next; the ring is full while it is not free */
    struct slot *end;    /* the slots: to before here */
    struct slot *first;  /* from here */
    struct slot *oldest; /* the slot filled longest ago; the ring is empty while it is free */
};

static inline void slot_ring_begin(struct slot_ring *ring, struct slot *slots, uint16_t count)
{
    ring->first = slots;
    ring->end = slots + count;
    ring->next = slots;
    ring->oldest = slots;
    for (struct slot *slot = slots; slot != ring->end; slot++) {
        slot->mask = 0;
    }
}

/* Fills `slot`, the next one of the ring, which must be free. */
static inline __attribute__((always_inline)) void slot_ring_put(struct slot_ring *ring, struct slot *slot, uint8_t mask,
                                                                uint8_t value, uint8_t lane)
{
    slot = port_slot_fill(slot, mask, value, lane);
    if (slot == ring->end) {
        slot = ring->first;
    }
    ring->next = slot;
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

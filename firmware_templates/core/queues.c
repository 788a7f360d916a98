#include "queues.h"

#include "events.h"

#if LINK

TABLE_CHECK(a_queue_is_longer_than_255_bytes, EVENT_SLOTS_NOTES * sizeof(struct slot) <= 255 &&
                                                  EVENT_SLOTS_PISTONS * sizeof(struct slot) <= 255 &&
                                                  EVENT_SLOTS_STOPS * sizeof(struct slot) <= 255);

/* In bytes: dividing by the size of a slot can wait until somebody asks. */
static uint8_t most_bytes[EVENT_CLASSES];

void queues_begin(void)
{
    for (uint8_t duty = 0; duty != EVENT_CLASSES; duty++) {
        most_bytes[duty] = 0;
    }
}

/* Bytes from the oldest entry to the next free slot, round the end; there is an oldest entry. */
static uint8_t ring_bytes(const struct slot_ring *ring)
{
    const uint8_t *next = (const uint8_t *)ring->next;
    const uint8_t *oldest = (const uint8_t *)ring->oldest;
    if (next > oldest) {
        return (uint8_t)(next - oldest);
    }
    return (uint8_t)((const uint8_t *)ring->end - oldest + (next - (const uint8_t *)ring->first));
}

void queues_look(void)
{
    for (uint8_t duty = 0; duty != EVENT_CLASSES; duty++) {
        const struct slot_ring *ring = &event_rings[duty].slots;
        if (ring->oldest->mask != 0) {
            uint8_t bytes = ring_bytes(ring);
            if (bytes > most_bytes[duty]) {
                most_bytes[duty] = bytes;
            }
        }
    }
}

uint8_t queue_most(uint8_t duty)
{
    return (uint8_t)(most_bytes[duty] / sizeof(struct slot));
}

#endif

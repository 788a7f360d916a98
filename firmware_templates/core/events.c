#include "events.h"

#include <stddef.h>

#include "groups.h"
#include "messages.h"

static struct slot slots_notes[EVENT_SLOTS_NOTES];
static struct slot slots_pistons[EVENT_SLOTS_PISTONS];
static struct slot slots_stops[EVENT_SLOTS_STOPS];

struct event_ring event_rings[EVENT_CLASSES];
uint16_t events_overflowed;

static void ring_begin(struct event_ring *ring, struct slot *slots, uint8_t count)
{
    slot_ring_begin(&ring->slots, slots, count);
    ring->behind = 0;
    ring->cursor = 0;
}

void events_begin(void)
{
    ring_begin(&event_rings[DUTY_NOTES], slots_notes, EVENT_SLOTS_NOTES);
    ring_begin(&event_rings[DUTY_PISTONS], slots_pistons, EVENT_SLOTS_PISTONS);
    ring_begin(&event_rings[DUTY_STOPS], slots_stops, EVENT_SLOTS_STOPS);
    events_overflowed = 0;
}

void events_open(void)
{
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        struct group_state *group = &group_states[i];
        group->ring = group->duty < EVENT_CLASSES ? &event_rings[group->duty] : NULL;
    }
}

void event_ring_hold_back(struct event_ring *ring)
{
    ring->behind = 1;
    ring->cursor = 0;
    if (events_overflowed != UINT16_MAX) {
        events_overflowed++;
    }
}

/* Number of the one bit that is set: times 0x17 (a de Bruijn sequence), each bit leaves another number in the top
 * three. */
static uint8_t bit_number(uint8_t bit)
{
    static const uint8_t numbers[8] TABLE_IN_FLASH = {0, 1, 2, 4, 7, 3, 6, 5};
    return flash_read_byte(&numbers[(uint8_t)(bit * 0x17u) >> 5]);
}

/* Sends the message of the lowest contact of the oldest slot. */
static void ring_send_next(struct event_ring *ring)
{
    struct slot *oldest = ring->slots.oldest;
    uint8_t mask = oldest->mask;
    uint8_t lowest = (uint8_t)(mask & -mask);
    uint8_t rest = mask ^ lowest;
    message_send(oldest->lane, bit_number(lowest), oldest->value & lowest);
    if (rest == 0) {
        slot_ring_drop(&ring->slots);
    } else {
        ring->slots.oldest->mask = rest;
    }
}

uint8_t events_send_next(void)
{
    for (struct event_ring *ring = event_rings; ring != event_rings + EVENT_CLASSES; ring++) {
        if (ring->slots.oldest->mask != 0) {
            ring_send_next(ring);
            return 1;
        }
    }
    return 0;
}

static void ring_catch_up(struct event_ring *ring, uint8_t duty)
{
    uint8_t lane = ring->cursor;
    if (lane == LANE_COUNT) {
        ring->behind = 0;
        return;
    }
    ring->cursor++;
    struct lane_state *state = &lane_states[lane];
    if (state->duty == duty) {
        event_ring_push(ring, lane, state, lane_now(state), state->used);
    }
}

uint8_t events_catch_up(void)
{
    for (uint8_t duty = 0; duty != EVENT_CLASSES; duty++) {
        if (event_rings[duty].behind) {
            ring_catch_up(&event_rings[duty], duty);
            return 1;
        }
    }
    return 0;
}

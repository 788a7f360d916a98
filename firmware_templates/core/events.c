#include "events.h"

#include <stddef.h>

#include "chatter.h"
#include "groups.h"
#include "messages.h"
#include "pump.h"

static struct slot slots_notes[EVENT_SLOTS_NOTES + 1];
static struct slot slots_pistons[EVENT_SLOTS_PISTONS + 1];
static struct slot slots_stops[EVENT_SLOTS_STOPS + 1];

struct event_ring event_rings[EVENT_CLASSES];
uint16_t events_overflowed;

static void ring_begin(struct event_ring *ring, struct slot *slots, uint8_t count)
{
    slot_ring_begin(&ring->slots, slots, count);
    ring->behind = 0;
    ring->cursor = 0;
}

static void rings_begin(void)
{
    ring_begin(&event_rings[DUTY_NOTES], slots_notes, EVENT_SLOTS_NOTES);
    ring_begin(&event_rings[DUTY_PISTONS], slots_pistons, EVENT_SLOTS_PISTONS);
    ring_begin(&event_rings[DUTY_STOPS], slots_stops, EVENT_SLOTS_STOPS);
}

void events_begin(void)
{
    rings_begin();
    events_overflowed = 0;
    chatter_begin();
}

void events_close(void)
{
    rings_begin();
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        group_states[i].ring = NULL;
        group_states[i].direct = NULL;
    }
}

void events_open(void)
{
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        struct group_state *group = &group_states[i];
        group->ring = group->duty < EVENT_CLASSES ? &event_rings[group->duty] : NULL;
        group->direct = group->family == FAMILY_FIRST_EDGE ? group->ring : NULL;
    }
}

void event_ring_hold_back(struct event_ring *ring)
{
    ring->behind = LANE_COUNT;
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

/* Queues what one lane was held back with. */
static __attribute__((noinline)) void ring_catch_up(struct event_ring *ring)
{
    uint8_t lane = ring->cursor;
    struct lane_state *state = &lane_states[lane];
    ring->cursor = (uint8_t)(lane + 1u == LANE_COUNT ? 0u : lane + 1u);
    ring->behind--;
    if (state->group->ring == ring) {
        uint8_t now = lane_now(state);
        event_ring_put(ring, lane, state, now, event_due(state, now, lane_used(lane)));
    }
}

/* Sends the message of the lowest of several contacts, and queues those of the others.  Out of line, so that the way of
 * a single one is short. */
static __attribute__((noinline)) void event_send_first(uint8_t lane, uint8_t due, uint8_t now, struct lane_state *state)
{
    uint8_t lowest = (uint8_t)(due & -due);
    event_ring_put(state->group->ring, lane, state, now, due ^ lowest);
    pump_pending = 1;
    state->sent ^= lowest;
    chatter_note(lane, lowest);
    message_send(lane, bit_number(lowest), now & lowest);
}

void event_send_now(uint8_t lane, uint8_t due, uint8_t now, struct lane_state *state)
{
    if ((due & (uint8_t)(due - 1u)) != 0) {
        event_send_first(lane, due, now, state);
        return;
    }
    state->sent ^= due;
    chatter_note(lane, due);
    message_send(lane, bit_number(due), now & due);
}

/* Sends the message of the lowest contact of the oldest slot. */
static void ring_send_next(struct event_ring *ring)
{
    struct slot *oldest = ring->slots.oldest;
    uint8_t mask = oldest->mask;
    uint8_t lowest = (uint8_t)(mask & -mask);
    uint8_t rest = mask ^ lowest;
    message_send(oldest->lane, bit_number(lowest), oldest->value & lowest);
    oldest = ring->slots.oldest;
    chatter_note(oldest->lane, oldest->mask ^ rest);
    if (rest != 0) {
        ring->slots.oldest->mask = rest;
        return;
    }
    slot_ring_drop(&ring->slots);
    if (ring->behind != 0) {
        ring_catch_up(ring);
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

uint8_t events_wait(uint8_t duty)
{
    return event_rings[duty].slots.oldest->mask != 0 || event_rings[duty].behind != 0;
}

void events_check(uint8_t duty)
{
    event_rings[duty].behind = LANE_COUNT;
    pump_pending = 1;
}

uint8_t events_catch_up(void)
{
    for (uint8_t duty = 0; duty != EVENT_CLASSES; duty++) {
        if (event_rings[duty].behind != 0) {
            ring_catch_up(&event_rings[duty]);
            return 1;
        }
    }
    return 0;
}

#include "events.h"

#include "messages.h"

struct event {
    uint8_t lane;
    uint8_t mask; /* contacts whose messages are still to be sent */
    uint8_t bits; /* their new states */
};

struct event_ring {
    struct event *slots;
    uint8_t wrap;   /* number of slots - 1; the number is a power of two */
    uint8_t newest; /* index of the slot that is filled next */
    uint8_t oldest; /* index of the entry that leaves next */
    uint8_t count;  /* entries waiting */
    uint8_t behind; /* 1 when something was held back */
    uint8_t cursor; /* lane at which catching up goes on */
};

static struct event slots_notes[EVENT_SLOTS_NOTES];
static struct event slots_pistons[EVENT_SLOTS_PISTONS];
static struct event slots_stops[EVENT_SLOTS_STOPS];

static struct event_ring rings[EVENT_CLASSES];
static uint8_t events_opened;
uint16_t events_overflowed;

static void ring_begin(struct event_ring *ring, struct event *slots, uint8_t count)
{
    ring->slots = slots;
    ring->wrap = (uint8_t)(count - 1);
    ring->newest = 0;
    ring->oldest = 0;
    ring->count = 0;
    ring->behind = 0;
    ring->cursor = 0;
}

void events_begin(void)
{
    ring_begin(&rings[DUTY_NOTES], slots_notes, EVENT_SLOTS_NOTES);
    ring_begin(&rings[DUTY_PISTONS], slots_pistons, EVENT_SLOTS_PISTONS);
    ring_begin(&rings[DUTY_STOPS], slots_stops, EVENT_SLOTS_STOPS);
    events_opened = 0;
    events_overflowed = 0;
}

void events_open(void)
{
    events_opened = 1;
}

static void ring_hold_back(struct event_ring *ring)
{
    ring->behind = 1;
    ring->cursor = 0;
    if (events_overflowed != UINT16_MAX) {
        events_overflowed++;
    }
}

static void ring_put(struct event_ring *ring, uint8_t lane, uint8_t mask, uint8_t bits)
{
    uint8_t newest = ring->newest;
    struct event *event = &ring->slots[newest];
    event->lane = lane;
    event->mask = mask;
    event->bits = bits;
    ring->newest = (uint8_t)(newest + 1) & ring->wrap;
    ring->count++;
}

void events_push(uint8_t duty, uint8_t lane, uint8_t changed)
{
    struct lane_state *state = &lane_states[lane];
    struct event_ring *ring = &rings[duty];
    if (!events_opened) {
        return;
    }
    uint8_t now = lane_now(lane);
    uint8_t muted = lane_muted[lane] & now; /* a release ends the muting, silently */
    uint8_t mask = (uint8_t)((now ^ state->sent) & changed & ~muted);
    lane_muted[lane] = muted;
    if (mask == 0) {
        return;
    }
    if (ring->count > ring->wrap) {
        ring_hold_back(ring);
        return;
    }
    ring_put(ring, lane, mask, now);
    state->sent ^= mask;
}

/* Number of the one bit that is set. */
static uint8_t bit_number(uint8_t bit)
{
    uint8_t number = 0;
    if (bit & 0xF0u) {
        number = 4;
    }
    if (bit & 0xCCu) {
        number |= 2;
    }
    if (bit & 0xAAu) {
        number |= 1;
    }
    return number;
}

/* Sends the message of the lowest contact of the oldest entry. */
static void ring_send_next(struct event_ring *ring)
{
    struct event *event = &ring->slots[ring->oldest];
    uint8_t mask = event->mask;
    uint8_t lowest = (uint8_t)(mask & -mask);
    message_send((uint16_t)(event->lane * 8u + bit_number(lowest)), event->bits & lowest);
    mask ^= lowest;
    event->mask = mask;
    if (mask == 0) {
        ring->oldest = (uint8_t)(ring->oldest + 1) & ring->wrap;
        ring->count--;
    }
}

uint8_t events_send_next(void)
{
    for (struct event_ring *ring = rings; ring != rings + EVENT_CLASSES; ring++) {
        if (ring->count != 0) {
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
    if (lane_duties[lane] == duty) {
        events_push(duty, lane, lane_used(lane));
    }
}

void events_catch_up(void)
{
    for (uint8_t duty = 0; duty != EVENT_CLASSES; duty++) {
        if (rings[duty].behind && rings[duty].count == 0) {
            ring_catch_up(&rings[duty], duty);
            return;
        }
    }
}

uint8_t events_class_idle(uint8_t duty)
{
    return rings[duty].count == 0 && !rings[duty].behind;
}

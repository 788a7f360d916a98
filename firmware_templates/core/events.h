/* Changes that wait for the wire: one ring for each class of urgency.
 *
 * Invariant: for every contact, `sent` is the state that the receiver has once all queued entries have been sent.
 * It changes only together with a queued entry.  When a ring is full the change is not queued, `sent` keeps
 * differing from the debounced state, and the ring is marked as behind; once it has drained, its lanes are gone
 * through and what still differs is queued.  So a receiver always ends with the true state, and no note-off is ever
 * lost: what an overflow can cost is a whole stroke, on and off together.
 *
 * Catching up goes round the lanes, a lane for every slot that is freed, so the slot that has just become free is there
 * for it: contacts that change without end, and fill the ring again and again, cannot keep the others from being heard.
 */
#ifndef EVENTS_H
#define EVENTS_H

#include "lanes.h"
#include "pump.h"
#include "slots.h"

#define EVENT_CLASSES 3 /* notes, pistons, stops: the queued duties, most urgent first */

#define EVENT_SLOTS_NOTES 64
#define EVENT_SLOTS_PISTONS 16
#define EVENT_SLOTS_STOPS 32

struct event_ring {
    struct slot_ring slots; /* the value of a slot is the new states of its contacts */
    uint8_t behind;         /* lanes to be gone through because something was held back */
    uint8_t cursor;         /* the next of them */
};

extern struct event_ring event_rings[]; /* by enum duty */

/* Number of changes that met a full ring since the start, at most 65535. */
extern uint16_t events_overflowed;

/* Nothing waiting, and no group queues anything until `events_open`. */
void events_begin(void);

/* From now on the groups queue their changes. */
void events_open(void);

/* Forgets what waits; no group queues anything until `events_open`. */
void events_close(void);

/* Notes that a change met a full ring. */
void event_ring_hold_back(struct event_ring *ring);

/* Sends the most urgent message; returns 0 when none waits. */
uint8_t events_send_next(void);

/* 1 while changes of a duty wait to be sent. */
uint8_t events_wait(uint8_t duty);

/* Has every lane of a duty gone through, as if something had been held back. */
void events_check(uint8_t duty);

/* Goes on, by one lane, making good what a full ring held back; returns 0 when nothing was.  To be called when nothing
 * waits. */
uint8_t events_catch_up(void);

/* Which of the contacts `changed` of a lane, whose state is `now`, differ from what was sent and are to be reported. */
static inline __attribute__((always_inline)) uint8_t event_due(struct lane_state *state, uint8_t now, uint8_t changed)
{
    uint8_t due = (uint8_t)((now ^ state->sent) & changed);
    if (state->muted != 0) {
        state->muted &= now; /* a release ends the muting, silently */
        due &= (uint8_t)~state->muted;
    }
    return due;
}

/* Queues the contacts `due` of a lane, whose state is `now`; nothing when there are none. */
static inline __attribute__((always_inline)) void event_ring_put(struct event_ring *ring, uint8_t lane,
                                                                 struct lane_state *state, uint8_t now, uint8_t due)
{
    if (due == 0) {
        return;
    }
    struct slot *slot = slot_ring_free(&ring->slots);
    if (slot->mask != 0) {
        event_ring_hold_back(ring);
        return;
    }
    state->sent ^= due;
    slot_ring_put(&ring->slots, slot, due, now, lane);
}

/* Sends the message of the lowest of the contacts `due` of a lane, and queues those of the others.  To be called when
 * nothing waits and the outlets are ready; `due` is not 0.  The arguments stand as message_send wants them. */
void event_send_now(uint8_t lane, uint8_t due, uint8_t now, struct lane_state *state);

/* Reports the contacts `changed` of a lane, whose state is `now`, as far as they differ from what was sent.  The first
 * change goes out at once if nothing waits and the outlets are ready, so that its press waits for nothing.  Any other is
 * only queued: what the wire has lasts for at least a byte, and the pump runs again behind the scan.
 *
 * By USB alone nothing leaves within the scan: the host asks once a millisecond in any case, and packets that always find
 * room would hold up the contacts behind. */
static inline __attribute__((always_inline)) void event_report(struct event_ring *ring, uint8_t lane,
                                                               struct lane_state *state, uint8_t now, uint8_t changed)
{
    uint8_t due = event_due(state, now, changed);
    if (due == 0) {
        return;
    }
    if (MIDI_WIRE && pump_pending == 0 && outlets_ready()) {
        event_send_now(lane, due, now, state);
        return;
    }
    event_ring_put(ring, lane, state, now, due);
    pump_pending = 1;
}

#endif

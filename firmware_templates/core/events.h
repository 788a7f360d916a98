/* Changes that wait for the wire: one ring for each class of urgency.
 *
 * Invariant: for every contact, `sent` is the state that the receiver has once all queued entries have been sent.  It
 * changes only together with a queued entry.  When a ring is full the change is not queued, `sent` keeps differing from
 * the debounced state, and the ring is marked as behind; once it has drained, its lanes are gone through and what still
 * differs is queued.  So a receiver always ends with the true state, and no note-off is ever lost: what an overflow can
 * cost is a whole stroke, on and off together.
 */
#ifndef EVENTS_H
#define EVENTS_H

#include "lanes.h"

#define EVENT_CLASSES 3 /* notes, pistons, stops: the queued duties, most urgent first */

#define EVENT_SLOTS_NOTES 64
#define EVENT_SLOTS_PISTONS 16
#define EVENT_SLOTS_STOPS 32

/* Nothing waiting; entries of `events_push` are dropped until `events_open`. */
void events_begin(void);

/* From now on changes are queued. */
void events_open(void);

/* Queues what of the contacts `changed` of `lane` differs from what was sent; `duty` is the lane's, a queued one. */
void events_push(uint8_t duty, uint8_t lane, uint8_t changed);

/* Sends the most urgent message; returns 0 when none waits. */
uint8_t events_send_next(void);

/* Goes on, by one lane, making good what a full ring held back; to be called when nothing waits. */
void events_catch_up(void);

/* 1 when a class has nothing waiting and nothing held back. */
uint8_t events_class_idle(uint8_t duty);

/* Number of changes that met a full ring since the start, at most 65535. */
extern uint16_t events_overflowed;

#endif

/* Listening to a keyboard that the organ goes on scanning itself.
 *
 * The organ's scanner makes one of its strobes active after the other and looks at the returns meanwhile.  Our inputs
 * hang on both without driving either.  Whenever a strobe moves, the port's interrupt calls listen_strobe_changed(),
 * which waits until the returns have settled at our input and keeps what they show for that strobe.  A scan takes the
 * levels that were kept last; it never waits for a strobe.
 *
 * What was read counts only when the same strobe, and no other, was active before the wait and still is behind the
 * reading: a strobe that was over before, or two at once, are counted and change nothing.  A strobe that is not heard
 * for LISTEN_SILENT_TICKS (the organ is off, or a wire is) has every key of it off.
 */
#ifndef LISTEN_H
#define LISTEN_H

#include "table_checks.h"

#define LISTEN_MOST_STROBES 8 /* a strobe is a bit of one port */

/* Every key off and no strobe heard yet; to be called before the interrupt is allowed. */
void listen_begin(void);

/* From the interrupt of the strobes' port: a strobe has moved.  Takes the settle time and a bounded number of steps. */
void listen_strobe_changed(void);

/* Once a tick: strobes that have fallen silent, and the counters. */
void listen_tick(void);

/* The levels of a port of returns, by its place in listen_table, that were kept for a strobe. */
uint8_t listen_read(uint8_t port, uint8_t strobe);

/* Strobes that were not read because two were active at once, or because one was over too soon; at most 65535. */
extern uint16_t listen_ignored;

/* Times that a strobe fell silent; at most 65535. */
extern uint16_t listen_silences;

#endif

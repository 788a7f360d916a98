/* What is said unasked: silence first, then, once the contacts have settled, what is held and how the stops stand.
 *
 * The same order serves power-on and every other reset, so a board that was reset by accident first silences what it
 * may have left sounding and then agrees with its receiver again.  It also serves a USB host that has come back; and
 * stops and shoes are said again whenever somebody asks.
 */
#ifndef REPORT_H
#define REPORT_H

#include <stdint.h>

void report_begin(void);

/* Counts the waiting time after power-on down; opens the event queue when it is over and silence has been sent.  Begins
 * what `report_again` has ordered. */
void report_tick(void);

/* Orders stops and shoes to be sent again.  That begins at most once a second, however often it is asked for, so that
 * nothing else is kept waiting for ever. */
void report_again(void);

/* The USB host has come, or has come back. */
void report_to_host(void);

/* The USB host has gone: what was meant for it alone is not sent. */
void report_forget_host(void);

/* Channels not yet silenced. */
extern uint8_t report_silence_left;

/* Outlets that this silence and this state go to, as to `outlets_aim`. */
extern uint8_t report_silence_only;
extern uint8_t report_state_only;

/* Silences the next channel; there must be one left. */
void report_silence_next(void);

/* Goes one step through the held contacts and the stops; sends at most one message. */
void report_state_next(void);

/* 1 while `report_state_next` has something left. */
extern uint8_t report_state_left;

#endif

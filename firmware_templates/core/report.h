/* What is said unasked: silence first, then, once the contacts have settled, what is held and how the stops stand.
 *
 * The same order serves power-on and every other reset, so a board that was reset by accident first silences what it
 * may have left sounding and then agrees with its receiver again.
 */
#ifndef REPORT_H
#define REPORT_H

#include <stdint.h>

void report_begin(void);

/* Counts the waiting time after power-on down; opens the event queue when it is over and silence has been sent. */
void report_tick(void);

/* Channels not yet silenced. */
extern uint8_t report_silence_left;

/* Silences the next channel; there must be one left. */
void report_silence_next(void);

/* Goes one step through the held contacts and the stops; sends at most one message. */
void report_state_next(void);

/* 1 while `report_state_next` has something left. */
extern uint8_t report_state_left;

#endif

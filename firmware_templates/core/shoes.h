/* The shoes: values from converter channels or from stages, sent as control changes.
 *
 * A shoe sends at most one value each SHOE_INTERVAL_TICKS; the newest value takes the place of one that waits, and the
 * last value is always sent.  A value is unknown, and nothing is sent, until the shoe has been read.
 *
 * A value of 14 bits is sent as two controllers, the upper 7 bits first and the lower ones as the controller 32 above;
 * while the upper ones stay, the lower ones go alone (MIDI 1.0 Detailed Specification, controllers 0 to 63).  Between
 * the two a note may go ahead.
 */
#ifndef SHOES_H
#define SHOES_H

#include <stdint.h>

/* Values that were never sent because a newer one took their place. */
extern uint16_t shoe_values_replaced;

void shoes_begin(void);

/* From now on values are sent, the present ones first. */
void shoes_open(void);

/* Sends every known value again, both halves of it. */
void shoes_repeat(void);

/* Counts time; goes on with a conversion and with reading the stages, a bounded step at a time. */
void shoes_tick(void);

/* A shoe's value as its own reader found it: from 0 to 127, or to 16383 for a shoe with a fine half. */
void shoe_set_value(uint8_t shoe, uint16_t value);

/* The newest value; 0xFFFF while it is unknown. */
uint16_t shoe_value(uint8_t shoe);

/* Sends the message of one shoe that is ready, in turn. */
void shoes_send_next(void);

/* 1 when a shoe may have something to send. */
extern uint8_t shoes_ready;

#endif

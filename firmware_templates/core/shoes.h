/* The shoes: values from converter channels or from stages, sent as control changes.
 *
 * A shoe sends at most one message each SHOE_INTERVAL_TICKS; the newest value takes the place of one that waits, and
 * the last value is always sent.  A value is unknown, and nothing is sent, until the shoe has been read.
 */
#ifndef SHOES_H
#define SHOES_H

#include <stdint.h>

void shoes_begin(void);

/* From now on values are sent, the present ones first. */
void shoes_open(void);

/* Counts time; goes on with a conversion and with reading the stages, a bounded step at a time. */
void shoes_tick(void);

/* A shoe's value, from 0 to 127, as its own reader found it. */
void shoe_set_value(uint8_t shoe, uint8_t value);

/* Sends the message of one shoe that is ready, in turn. */
void shoes_send_next(void);

/* 1 when a shoe may have something to send. */
extern uint8_t shoes_ready;

#endif

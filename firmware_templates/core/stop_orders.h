/* Stops that are ordered from outside, where the job asks for it (LISTEN_STOPS).
 *
 * A message that equals a stop's own is an order: whoever sent it holds the stop as ordered, so that counts as sent.
 * When the tab then moves there, by whatever drives it, nothing is said; no coil is driven by this board.  If it does
 * not stand there STOP_WAIT_US after the last order, how it stands is said.  Orders are looked up a contact at a time
 * between ticks, so that no tick is late for one; MIDI in waits meanwhile, and while changes of stops wait to be sent.
 */
#ifndef STOP_ORDERS_H
#define STOP_ORDERS_H

#include <stdint.h>

#include "table_checks.h"

#define STOP_WAIT_US 500000ul

enum stop_order_outcome { STOP_ORDER_GOES_ON = 0, STOP_ORDER_TAKEN = 1, STOP_ORDER_UNKNOWN = 2 };

extern uint8_t stop_order_waits; /* 1 while a message is looked up */

void stop_orders_begin(void);

/* A message has come in; none may be waiting. */
void stop_order_take(uint8_t status, uint8_t first, uint8_t second);

/* Looks the message up in one contact more; returns an enum stop_order_outcome. */
uint8_t stop_order_step(void);

/* Counts the waiting time down; looks at the tabs when it is over. */
void stop_orders_tick(void);

#endif

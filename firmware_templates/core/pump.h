/* Chooses the next message to be sent. */
#ifndef PUMP_H
#define PUMP_H

#include "outlets.h"

/* Not 0 when there may be something to send; set by whoever has something, cleared by the pump when it finds
 * nothing. */
extern uint8_t pump_pending;

/* Sends the most urgent message, if any: one, so that a note that comes later waits for one message at most: behind a
 * byte in the wire's ring and two in its own registers, or behind the packets that USB has already taken. */
void pump_feed(void);

/* Sends the most urgent message if something may be pending and there is room; a few cycles when nothing is, so that
 * the wait for the next tick is exact. */
static inline __attribute__((always_inline)) void pump_run(void)
{
    if (pump_pending && outlets_ready()) {
        pump_feed();
    }
}

#endif

/* Chooses the next message for the wire. */
#ifndef PUMP_H
#define PUMP_H

#include "port.h"

/* Not 0 when there may be something to send; set by whoever has something, cleared by the pump when it finds
 * nothing. */
extern uint8_t pump_pending;

/* Gives the wire the most urgent message, if any. */
void pump_feed(void);

/* Something has come up (`something` is not 0): sends it now if the wire has at most one byte left in its ring.  The
 * wire then still has at least a byte time of work in its own registers, so a new message now keeps it from falling
 * idle during a scan, and a note that comes later waits for one message at most. */
static inline __attribute__((always_inline)) void pump_poke(uint8_t something)
{
    pump_pending = something;
    if (port_wire_waiting() <= 1) {
        pump_feed();
    }
}

/* The same when something may be pending; a few cycles when nothing is, so that the wait for the next tick is exact. */
static inline __attribute__((always_inline)) void pump_run(void)
{
    if (pump_pending && port_wire_waiting() <= 1) {
        pump_feed();
    }
}

#endif

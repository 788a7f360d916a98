/* Chooses the next message for the wire. */
#ifndef PUMP_H
#define PUMP_H

#include "port.h"

/* Gives the wire the most urgent message, if any. */
void pump_feed(void);

/* The same when the wire has at most one byte left in its ring.  It then still has at least a byte time of work in its own
 * registers, so a new message now keeps it from falling idle during a scan, and a note that comes later waits for one
 * message at most. */
static inline __attribute__((always_inline)) void pump_run(void)
{
    if (port_wire_waiting() <= 1) {
        pump_feed();
    }
}

#endif

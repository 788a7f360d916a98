/* Port expanders on the two-wire bus, read in rounds that never keep a scan waiting.
 *
 * A round begins behind the scan of every BUS_PERIOD_TICKS-th tick and reads each expander once, a step at a time between
 * ticks.  The scan takes the levels that the round before has brought.  An expander that does not answer is shown with
 * every contact off, counted, and set up anew in the next round.
 */
#ifndef EXPANDERS_H
#define EXPANDERS_H

#include "port.h"
#include "table_checks.h"

void expanders_begin(void);

/* Behind the scan of a tick: begins a round when its time has come. */
void expanders_tick(void);

/* Does what follows on the step that the bus has just done. */
void expanders_step(void);

/* The levels of a port (0 is A, 1 is B) of an expander, by its place in expander_table. */
uint8_t expander_read(uint8_t expander, uint8_t port);

/* Times that an expander did not answer, and that a round had not ended when the next was due; at most 65535. */
extern uint16_t expander_failures;
extern uint16_t expander_late_rounds;

extern uint8_t bus_step; /* enum bus_step of expanders.c; 0 while nothing is awaited */

/* Between two ticks, as often as possible: a few cycles while the bus is at work. */
static inline __attribute__((always_inline)) void expanders_run(void)
{
    if (EXPANDER_COUNT != 0 && bus_step != 0 && port_bus_is_done()) {
        expanders_step();
    }
}

#endif

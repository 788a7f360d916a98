/* Why the board started, how often the watchdog had to start it, and the watchdog itself. */
#ifndef RESTART_H
#define RESTART_H

#include <stdint.h>

#include "registers.h"

#define RESTART_POWER_ON 1u
#define RESTART_EXTERNAL 2u
#define RESTART_BROWN_OUT 4u
#define RESTART_WATCHDOG 8u

/* Longer than the flash takes to forget a sector at worst, 400 ms (common for such flash, from memory): storing must
 * not look like hanging. */
#define WATCHDOG_US 1000000u

/* Remembers why, counts, and stops a watchdog that may still run. */
void restart_begin(void);

void watchdog_begin(void);

/* The count goes down twice each microsecond (data sheet, erratum RP2040-E1). */
static inline void watchdog_feed(void)
{
    WATCHDOG_LOAD = 2u * WATCHDOG_US;
}

/* Of RESTART_...; power-on and brown-out come together, for the chip does not tell them apart.  0 is unknown. */
uint8_t port_restart_cause(void);

/* Since power-on. */
uint16_t port_watchdog_restarts(void);

/* Bytes of the stack that were never used; what the library's heap could still take is not counted. */
uint16_t port_free_memory(void);

#endif

/* Restarts: what caused the last one, how many the watchdog has caused, and the watchdog itself.
 *
 * A program that hangs is started again in two steps.  The first time-out raises the watchdog's interrupt, which notes
 * it in memory that the start leaves alone, and goes to address 0 without a reset of the chip: some boot loaders loop
 * for ever after a watchdog reset (from memory), so the boot loader is left out.  Where interrupts are off, the second
 * time-out resets the chip.
 */
#ifndef RESTART_H
#define RESTART_H

#include <avr/io.h>
#include <avr/wdt.h>
#include <stdint.h>

/* The flags of MCUSR as they stood at the start (bit 0 power-on, 1 external, 2 brown-out, 3 watchdog); 0 when a boot
 * loader had cleared them before. */
extern uint8_t restart_cause;

/* Restarts by the watchdog since power-on, as far as known: those whose flag a boot loader has cleared are missing. */
extern uint16_t restart_watchdog_count;

/* Counts this start.  Once, at the start. */
void restart_note(void);

/* Starts the watchdog: 256 ms, many times the longest tick. */
void restart_watch(void);

/* A tick's work is done.  Left undone when somebody else has set the watchdog to reset the chip: the stock core does so
 * to enter the boot loader of a board with its own USB. */
static inline void restart_kick(void)
{
    if (WDTCSR & _BV(WDIE)) {
        wdt_reset();
    }
}

#endif

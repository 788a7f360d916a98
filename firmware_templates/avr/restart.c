#include "restart.h"

#include <avr/interrupt.h>

#include "chip.h"
#include "memory_left.h"

#define LASTING __attribute__((section(".noinit")))
#define CAUSES (_BV(PORF) | _BV(EXTRF) | _BV(BORF) | _BV(WDRF))
#define BITTEN 0xB1
#define TIME_OUT _BV(WDP2) /* 32,768 periods of 128 kHz, 256 ms (data sheet, watchdog timer prescale select) */

uint8_t restart_cause LASTING;
uint16_t restart_watchdog_count LASTING;
static uint16_t check LASTING;         /* the count inverted: says that memory was not lost */
static volatile uint8_t bitten LASTING; /* BITTEN from the watchdog's interrupt to the start behind it */

/* Runs before memory is set up, without a stack frame.  Everything is put as after a reset, since this start may follow
 * the watchdog's interrupt; the watchdog is stopped at once, since after a reset by it 16 ms remain (data sheet). */
__attribute__((naked, used, section(".init3"))) void restart_begin(void)
{
    restart_cause = MCUSR & CAUSES;
    MCUSR = 0;
    wdt_disable();
    chip_quieten();
    memory_paint();
}

ISR(WDT_vect, ISR_NAKED)
{
    bitten = BITTEN;
    __asm__ volatile("jmp 0");
}

void restart_note(void)
{
    if (bitten == BITTEN) {
        restart_cause = _BV(WDRF);
    }
    bitten = 0;
    if ((restart_cause & _BV(PORF)) || check != (uint16_t)~restart_watchdog_count) {
        restart_watchdog_count = 0;
    }
    if ((restart_cause & _BV(WDRF)) && restart_watchdog_count != UINT16_MAX) {
        restart_watchdog_count++;
    }
    check = (uint16_t)~restart_watchdog_count;
}

/* Interrupt first, reset next: a protected change, within four cycles of its key (data sheet). */
void restart_watch(void)
{
    uint8_t interrupts = SREG;
    cli();
    wdt_reset();
    WDTCSR = _BV(WDCE) | _BV(WDE);
    WDTCSR = _BV(WDIE) | _BV(WDE) | TIME_OUT;
    SREG = interrupts;
}

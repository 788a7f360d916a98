#include "restart.h"

/* A register that the watchdog's reset leaves alone, and power-on clears, holds the count behind this mark. */
#define COUNT_MARK 0x43520000u
#define COUNT_MASK 0xFFFFu

#define PAINT 0xA5u
#define PAINT_MARGIN 64u /* bytes below the stack pointer that this function itself may use */

/* Where the linker puts the first core's stack. */
extern uint8_t __StackBottom[];
extern uint8_t __StackTop[];

static uint8_t cause;
static uint16_t watchdog_restarts;

static uint8_t cause_now(void)
{
    if (WATCHDOG_REASON != 0) {
        return RESTART_WATCHDOG;
    }
    uint32_t chip = CHIP_RESET;
    uint8_t found = 0;
    if (chip & CHIP_RESET_HAD_POWER_ON) {
        found |= RESTART_POWER_ON | RESTART_BROWN_OUT;
    }
    if (chip & (CHIP_RESET_HAD_RUN | CHIP_RESET_HAD_DEBUGGER)) {
        found |= RESTART_EXTERNAL;
    }
    return found;
}

static uint16_t restarts_now(void)
{
    uint32_t kept = WATCHDOG_SCRATCH0;
    uint16_t count = (kept & ~COUNT_MASK) == COUNT_MARK ? (uint16_t)(kept & COUNT_MASK) : 0;
    if ((WATCHDOG_REASON & WATCHDOG_REASON_TIMER) && count != UINT16_MAX) {
        count++;
    }
    return count;
}

/* Paints the part of the stack that nothing has used yet. */
static void stack_paint(void)
{
    uintptr_t pointer;
    __asm__ volatile("mov %[pointer], sp" : [pointer] "=r"(pointer));
    for (uint8_t *at = __StackBottom; (uintptr_t)at < pointer - PAINT_MARGIN; at++) {
        *at = PAINT;
    }
}

void restart_begin(void)
{
    REGISTER_CLEAR(WATCHDOG_CTRL) = WATCHDOG_CTRL_ENABLE;
    cause = cause_now();
    watchdog_restarts = restarts_now();
    WATCHDOG_SCRATCH0 = COUNT_MARK | watchdog_restarts;
    stack_paint();
}

void watchdog_begin(void)
{
    PSM_WDSEL = PSM_ALL_BUT_OSCILLATORS;
    watchdog_feed();
    REGISTER_SET(WATCHDOG_CTRL) = WATCHDOG_CTRL_ENABLE;
}

uint8_t port_restart_cause(void)
{
    return cause;
}

uint16_t port_watchdog_restarts(void)
{
    return watchdog_restarts;
}

uint16_t port_free_memory(void)
{
    uintptr_t size = (uintptr_t)__StackTop - (uintptr_t)__StackBottom;
    uint16_t unused = 0;
    while (unused < size && unused != UINT16_MAX && __StackBottom[unused] == PAINT) {
        unused++;
    }
    return unused;
}

/* The tick: counted on the chip's own microseconds, and polled, so that no interrupt of ours shifts a scan. */
#ifndef TICK_H
#define TICK_H

#include <stdint.h>

#include "registers.h"
#include "table_checks.h"

extern uint32_t tick_began_us; /* when the present tick began */

static inline void tick_begin(void)
{
    tick_began_us = TIMER_RAW_LOW;
}

/* 1 when the next tick is due. */
static inline uint8_t tick_is_due(void)
{
    return TIMER_RAW_LOW - tick_began_us >= TICK_US;
}

/* Goes on to the tick that is due.  When more than one is, those that nobody served are left out. */
static inline void tick_turn(void)
{
    tick_began_us += TICK_US;
    if (tick_is_due()) {
        tick_began_us = TIMER_RAW_LOW;
    }
}

#endif

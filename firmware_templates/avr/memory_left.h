/* How much memory between data and stack has never been used: the last kilobyte of memory, which holds the stack, is
 * filled with a pattern at the start as far as no data lie there, and looked through from the deepest known use. */
#ifndef MEMORY_LEFT_H
#define MEMORY_LEFT_H

#include <avr/io.h>
#include <stdint.h>

#include "chip.h"

#if LINK

#define MEMORY_PATTERN 0xC5

extern uint8_t __heap_start; /* by the linker: the first byte behind all data */

#define MEMORY_WATCHED ((uint8_t *)(RAMEND + 1 - 1024)) /* a filled kilobyte delays the start by 0.4 ms */

/* The lowest byte that is filled. */
static inline uint8_t *memory_bottom(void)
{
    return &__heap_start > MEMORY_WATCHED ? &__heap_start : MEMORY_WATCHED;
}

/* Fills the watched memory; runs at the start, before anything is on the stack. */
static inline __attribute__((always_inline)) void memory_paint(void)
{
    for (volatile uint8_t *at = memory_bottom(); at != (uint8_t *)(RAMEND + 1); at++) {
        *at = MEMORY_PATTERN;
    }
}

/* Finds the deepest use up to now.  Once, at the end of the start. */
void memory_begin(void);

/* Bytes never used as far as known; 0 when the stack has reached the end of what is watched.  Each call looks a little
 * further, so that its time is bounded; asked again and again it converges on the truth. */
uint16_t memory_left(void);

#else

static inline void memory_paint(void)
{
}

static inline void memory_begin(void)
{
}

#endif

#endif

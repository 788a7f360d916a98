/* The board link: a computer asks, the board answers; see link_words.h.
 *
 * The link works behind the scan of each tick, one small step at a time: some bytes taken in, or a question answered,
 * or some bytes of check, or some bytes given out.  None waits for the line.  A step takes 1,000 cycles of an ATmega at
 * most, half of the shortest tick, besides the reading of contacts that somebody wants to see or to have captured:
 * that takes up to two scans of them.  As long as nobody reads an answer it stays where it is and no further question
 * is taken; the console goes on as ever.
 */
#ifndef LINK_H
#define LINK_H

#include "table_checks.h"

#if LINK

void link_begin(void);

/* Right behind the scan of each tick. */
void link_scanned(void);

/* At the very end of each tick's work. */
void link_tick(void);

#else

static inline void link_begin(void)
{
}

static inline void link_scanned(void)
{
}

static inline void link_tick(void)
{
}

#endif

#endif

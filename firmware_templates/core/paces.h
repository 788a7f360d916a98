/* The paces: groups that are always due together share one, so that the scan asks once for all of them. */
#ifndef PACES_H
#define PACES_H

#include "table_checks.h"

struct stretch;

struct pace {
    uint8_t due;                     /* 1 when the coming scan samples the groups of this pace */
    uint8_t sample;                  /* number, modulo 256, of the sample that is being taken or comes next */
    uint8_t hold_least;              /* the shortest hold-off of its groups, in samples */
    uint8_t hold_wait;               /* samples until a hold-off may end; 0 while none is running */
    uint8_t tick_mask;               /* due when (tick & tick_mask) == phase */
    uint8_t phase;                   /* see tick_mask */
    const struct stretch *chain_end; /* one past its last stretch of the chain; the first stretch when it has none */
};

extern struct pace pace_states[];
extern struct pace *paces_end; /* one past the last */

/* No pace at all. */
void paces_begin(void);

/* The pace that is due when (tick & tick_mask) == phase; a new one when no group before was of it.  There are never
 * more paces than groups. */
struct pace *pace_find(uint8_t tick_mask, uint8_t phase);

#endif

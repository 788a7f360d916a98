/* The state of every lane: eight contacts, one bit each. */
#ifndef LANES_H
#define LANES_H

#include "table_checks.h"

/* What the scan looks at first, together: a lane is quiet, and costs a few cycles, while
 * (((raw ^ quiet) & listen) | attention) is 0. */
struct lane_state {
    uint8_t quiet;     /* the byte read while nothing changes: reported state, exclusive-ored with the lane's invert */
    uint8_t listen;    /* bits that are compared: used, and not in a hold-off */
    uint8_t attention; /* not 0 while counters of the lane are running, so that every sample must be looked at */
    uint8_t sent;      /* bits as the receiver will have them once everything queued has been sent */
};

extern struct lane_state lane_states[];
extern uint8_t lane_muted[];  /* bits that were on at power-on and have not been released since */
extern uint8_t lane_duties[]; /* enum duty of the lane's group */

/* Every contact off, nothing muted; called once at the start. */
void lanes_begin(void);

/* The debounced state of a lane: 1 is on. */
static inline uint8_t lane_now(uint8_t lane)
{
    return (uint8_t)(lane_states[lane].quiet ^ flash_read_byte(&lane_table[lane].invert));
}

static inline uint8_t lane_used(uint8_t lane)
{
    return flash_read_byte(&lane_table[lane].used);
}

#endif

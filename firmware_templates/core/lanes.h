/* The state of every lane: eight contacts, one bit each. */
#ifndef LANES_H
#define LANES_H

#include "table_checks.h"

struct group_state;

/* What the scan looks at stands first: a lane is quiet, and costs a few cycles, while
 * (((raw ^ quiet) & listen) | attention) is 0. */
struct lane_state {
    uint8_t quiet;     /* the byte read while nothing changes: reported state, exclusive-ored with invert */
    uint8_t listen;    /* bits that are compared: used, and not in a hold-off */
    uint8_t attention; /* not 0 while counters of the lane are running, so that every sample must be looked at */
    uint8_t sent;      /* bits as the receiver will have them once everything queued has been sent */
    uint8_t muted;     /* bits that were on at power-on and have not been released since */
    uint8_t invert;    /* from lane_table; its other column is asked for seldom, see lane_used */
    struct group_state *group; /* whose contacts these are */
};

extern struct lane_state lane_states[];

/* Every contact off, nothing muted; called once at the start. */
void lanes_begin(void);

/* The bits of a lane that are contacts. */
static inline uint8_t lane_used(uint8_t lane)
{
    return flash_read_byte(&lane_table[lane].used);
}

/* The debounced state of a lane: 1 is on. */
static inline uint8_t lane_now(const struct lane_state *lane)
{
    return lane->quiet ^ lane->invert;
}

static inline uint8_t lane_is_quiet(const struct lane_state *lane, uint8_t raw)
{
    return (uint8_t)(((raw ^ lane->quiet) & lane->listen) | lane->attention) == 0;
}

#endif

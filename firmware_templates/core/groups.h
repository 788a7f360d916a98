/* The groups: when each is sampled, and its debounce figures, kept in RAM for the scan. */
#ifndef GROUPS_H
#define GROUPS_H

#include "slots.h"
#include "table_checks.h"

struct event_ring;

struct group_state {
    struct slot_ring holds;  /* first-edge family: hold-offs that are running; see holds.h */
    uint8_t hold_due;        /* number of the sample that compares again what changes now */
    struct event_ring *ring; /* where changes are queued; null for stages, and before reporting has begun */
    uint8_t family;          /* enum family */
    uint8_t duty;            /* enum duty */
    uint8_t shoe;            /* index into shoe_table, for stages */
    uint8_t press_count;     /* counted family */
    uint8_t release_count;   /* counted family */
    uint8_t due;             /* 1 when the coming scan samples the group */
    uint8_t tick_mask;       /* sampled when (tick & tick_mask) == phase */
    uint8_t phase;
    uint8_t sample;    /* number of the coming sample, modulo 256 */
    uint8_t chain_end; /* one past the group's last run on the chain; 0 when it has none */
};

extern struct group_state group_states[];

void groups_begin(void);

#endif

/* The groups: when each is sampled, and its debounce figures, kept in RAM for the scan. */
#ifndef GROUPS_H
#define GROUPS_H

#include "slots.h"
#include "table_checks.h"

struct event_ring;
struct run_state;

struct group_state {
    struct slot_ring holds;  /* first-edge family: hold-offs that are running; see holds.h */
    uint8_t hold_due;        /* number, modulo 256, of the sample that compares again what changes now */
    uint8_t hold_count;      /* first-edge family */
    struct event_ring *ring; /* where changes are queued; null for stages, and before reporting has begun */
    uint8_t family;          /* enum family */
    uint8_t duty;            /* enum duty */
    uint8_t shoe;            /* index into shoe_table, for stages */
    uint8_t press_count;     /* counted and integrating families */
    uint8_t release_count;   /* counted and integrating families */
    uint8_t due;             /* 1 when the coming scan samples the group */
    uint8_t tick_mask;       /* sampled when (tick & tick_mask) == phase */
    uint8_t phase;
    const struct run_state *chain_end; /* one past the group's last run on the chain; the first run when it has none */
};

extern struct group_state group_states[];

void groups_begin(void);

#endif

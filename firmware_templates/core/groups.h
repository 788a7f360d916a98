/* The groups: the pace at which each is sampled, and its debounce figures, kept in RAM for the scan. */
#ifndef GROUPS_H
#define GROUPS_H

#include "paces.h"
#include "slots.h"
#include "table_checks.h"

struct event_ring;

/* What the scan asks for each change stands first. */
struct group_state {
    struct event_ring *direct; /* `ring` for the first-edge family, null for others: asks two things at once */
    struct slot_ring holds;  /* first-edge family: hold-offs that are running; see holds.h */
    struct pace *pace;       /* when it is due */
    struct event_ring *ring; /* where changes are queued; null for stages, and before reporting has begun */
    uint8_t hold_count;      /* first-edge family; 0 for a group without a ring of hold-offs */
    uint8_t family;          /* enum family */
    uint8_t duty;            /* enum duty */
    uint8_t shoe;            /* index into shoe_table, for stages */
    uint8_t press_count;     /* counted and integrating families */
    uint8_t release_count;   /* counted and integrating families */
};

extern struct group_state group_states[];

void groups_begin(void);

#endif

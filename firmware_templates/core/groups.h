/* The groups: when each is sampled, and its debounce figures, kept in RAM for the scan. */
#ifndef GROUPS_H
#define GROUPS_H

#include "table_checks.h"

/* A hold-off of the first-edge family; see holds.h. */
struct hold {
    uint8_t lane;
    uint8_t mask; /* contacts of the lane that are not listened to; 0 in a free slot */
    uint8_t due;  /* number of the sample, modulo 256, that compares them again */
};

struct group_state {
    uint8_t due;              /* 1 when the coming scan samples the group */
    uint8_t tick_mask;        /* sampled when (tick & tick_mask) == phase */
    uint8_t phase;
    uint8_t samples;          /* number of the present sample, modulo 256 */
    uint8_t family;           /* enum family */
    uint8_t duty;             /* enum duty */
    uint8_t shoe;             /* index into shoe_table, for stages */
    uint8_t press_count;      /* counted family */
    uint8_t release_count;    /* counted family */
    uint8_t hold_count;       /* first-edge family */
    struct hold *hold_oldest; /* the hold-off that ends first, or a free slot when none is running */
    struct hold *hold_next;   /* slot for the next hold-off */
    struct hold *hold_first;  /* the group's slots: from here */
    struct hold *hold_end;    /* to before here */
};

extern struct group_state group_states[];

void groups_begin(void);

#endif

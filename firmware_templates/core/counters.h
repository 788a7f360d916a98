/* The counted family: a change is reported when so many samples in a row differ from the reported state. */
#ifndef COUNTERS_H
#define COUNTERS_H

#include "groups.h"
#include "lanes.h"

#define PLANES AT_LEAST_ONE(COUNTER_PLANES)

/* Eight counters of a lane side by side: bit b of plane p is bit p of contact b's count.  Those of an integrator are
 * kept here as well. */
extern uint8_t counter_planes[][PLANES];

/* Takes one sample of a lane; returns the bits whose change is now to be reported (already entered in the lane). */
uint8_t counters_sample(const struct group_state *group, uint8_t lane, struct lane_state *state, uint8_t raw);

/* All counters at 0. */
void counters_begin(void);

#endif

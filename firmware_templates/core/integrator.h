/* The integrating family: a change is reported when the samples that differ from the reported state lead those that
 * agree with it by so many.  The lead is never below nothing.
 */
#ifndef INTEGRATOR_H
#define INTEGRATOR_H

#include "groups.h"
#include "lanes.h"

/* Takes one sample of a lane; returns the bits whose change is now to be reported (already entered in the lane). */
uint8_t integrator_sample(const struct group_state *group, uint8_t lane, struct lane_state *state, uint8_t raw);

#endif

/* The hold-offs of the first-edge family.
 *
 * All hold-offs of a group last equally long, so they end in the order in which they began: a ring per group holds them,
 * and only its oldest entry needs looking at.
 */
#ifndef HOLDS_H
#define HOLDS_H

#include "groups.h"

/* From the present sample of the group on, the contacts `mask` of `lane` are not listened to. */
void holds_begin(struct group_state *group, uint8_t lane, uint8_t mask);

/* After a sample of the group: listens again to the contacts that the next sample compares. */
void holds_end_due(struct group_state *group);

#endif

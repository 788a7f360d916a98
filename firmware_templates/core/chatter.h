/* A contact that chatters without end: found, counted and named, at the cost of a few cycles a message.
 *
 * Debouncing bounds what such a contact can send: with a hold-off of n samples one message in n, with counts of p and r
 * samples two messages in p + r.  It is found by the majority vote of Boyer and Moore (1991) over the contacts that sent
 * the last message of each tick of a second: a candidate that stands with a lead of CHATTER_LEAD has sent at least that
 * many.  No hand moves a key 60 times in a second (common practice, no source).  Where there is no board link to ask for
 * the number, it is not counted.
 */
#ifndef CHATTER_H
#define CHATTER_H

#include <stdint.h>

#include "table_checks.h"

#define CHATTER_LEAD 60u

extern uint16_t chatter_seconds; /* seconds in which a contact chattered; at most 65535 */
extern uint16_t chatter_contact; /* the last that did, lane * 8 + bit; 0xFFFF for none yet */

extern uint8_t chatter_lane; /* lane and bit of the contact that sent last in this tick */
extern uint8_t chatter_mask; /* 0 when none has */

void chatter_begin(void);

/* Takes the vote of a tick, and ends a second now and then. */
void chatter_tick(void);

/* A contact has sent a message. */
static inline void chatter_note(uint8_t lane, uint8_t mask)
{
    if (LINK) {
        chatter_lane = lane;
        chatter_mask = mask;
    }
}

#endif

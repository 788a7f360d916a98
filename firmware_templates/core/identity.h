/* The Identity Reply to a universal Identity Request (MIDI 1.0 Detailed Specification, general information).
 *
 * Its fifteen bytes go out three at a time, the first when nothing else waits, so that a note waits no longer than
 * usual.  A note cuts it: the receiver drops what it has, and it begins again when nothing waits.  Whoever asks while
 * it is under way is not answered again.
 */
#ifndef IDENTITY_H
#define IDENTITY_H

#include <stdint.h>

void identity_begin(void);

/* 1 when four data bytes are an Identity Request to all devices or to ours. */
uint8_t identity_is_asked(const uint8_t *data);

/* The request came by `from`; the reply goes out by the same. */
void identity_ask(uint8_t from);

/* Outlet that a reply is to go to, 0 for none. */
extern uint8_t identity_only;

/* 1 while a reply has begun and not ended. */
extern uint8_t identity_begun;

/* Sends three bytes more. */
void identity_next(void);

#endif

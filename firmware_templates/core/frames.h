/* Frames of the board link, byte by byte: stuffing, check, and the one buffer that question and answer share.
 *
 * A frame is taken in, then answered in its own place, then given out; nothing is taken in meanwhile.  No call does
 * more than a bounded little, so that a frame costs no scan its time.
 */
#ifndef FRAMES_H
#define FRAMES_H

#include "link_words.h"

#include <stdint.h>

extern uint8_t frame_body[LINK_BODY_MAX];
extern uint8_t frame_size; /* bytes of the body that is taken in or given out, check included */

/* Frames that were broken, too long or failed their check, at most 65535. */
extern uint16_t frames_bad;

void frames_begin(void);

/* The next frame is taken in from its beginning. */
void frame_await(void);

/* Takes a byte of the line; returns 1 when it ended a frame that is whole. */
uint8_t frame_take(uint8_t byte);

/* The check at the end of the frame that was taken in. */
uint16_t frame_check(void);

/* `size` bytes of the body are the answer, without its check. */
void frame_answer(uint8_t size);

/* Works out the check of the answer, some bytes a call; returns 1 when it is done. */
uint8_t frame_seal(void);

/* The next byte of the answer for the line; the last is 0, and no other is. */
uint8_t frame_next(void);

#endif

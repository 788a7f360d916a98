/* Hostile frames for the board link, from a seed. */
#ifndef LINK_FRAMES_H
#define LINK_FRAMES_H

#include <stdint.h>

void dice_begin(uint32_t seed);

/* A number from 0 to `count` - 1. */
uint32_t roll(uint32_t count);

/* Bytes that a question of this kind has for a payload; -1 when there is no such question. */
int question_payload(uint8_t kind);

/* Writes one frame, or what takes its place, and returns its length; at most STUFFED_MOST bytes. */
int frame_make(uint8_t *line);

#endif

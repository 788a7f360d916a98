/* How much of its time the board is busy: from the beginning of each tick to the end of its work. */
#ifndef PACE_H
#define PACE_H

#include <stdint.h>

/* The numbers start anew. */
void pace_begin(void);

/* At the very end of a tick's work. */
void pace_tick(void);

/* Writes the answer to LINK_PACE; returns its length. */
uint8_t pace_answer(uint8_t *payload);

#endif

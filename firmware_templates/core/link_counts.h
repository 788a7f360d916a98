/* What the board has counted since its start. */
#ifndef LINK_COUNTS_H
#define LINK_COUNTS_H

#include <stdint.h>

/* Writes the answer to LINK_COUNTERS; returns its length. */
uint8_t link_counters_answer(uint8_t *payload);

#endif

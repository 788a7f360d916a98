/* Shoes on converter channels, read in turn without ever waiting for a conversion.
 *
 * A reading that leaps by more than an eighth of full scale is believed when the next one lies near it.  A reading
 * beyond the bounds of the table is that of a broken or shorted wire: the shoe keeps its last value, and the beginning
 * of each such stretch is counted.
 */
#ifndef CONVERTER_H
#define CONVERTER_H

#include "table_checks.h"

/* What a shoe reads before its first conversion. */
#define CONVERTER_NONE 0xFFFFu

/* Times that a shoe began to read beyond its bounds. */
extern uint16_t converter_faults;

/* 1 when a shoe is read on a converter channel. */
uint8_t converter_reads(uint8_t shoe);

void converter_begin(void);

/* Picks up a finished conversion and starts the next. */
void converter_tick(void);

/* A shoe's last reading in counts, whatever became of it; CONVERTER_NONE before the first, and of a shoe that has no
 * channel. */
uint16_t converter_reading(uint8_t shoe);

/* 1 while a shoe reads beyond its bounds. */
uint8_t converter_is_broken(uint8_t shoe);

/* For finding the ends of a shoe's travel: forgets the extremes of its readings, and tells them.  Without a reading
 * since, the lowest is CONVERTER_NONE and the highest 0. */
void converter_ends_begin(uint8_t shoe);
uint16_t converter_lowest(uint8_t shoe);
uint16_t converter_highest(uint8_t shoe);

#endif

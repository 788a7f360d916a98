/* A stepped shoe whose contacts and resistors form a ladder, read on one converter channel.
 *
 * The readings are parted into stretches, one after another; each has a value, or keeps the last one.  A stretch is
 * believed when so many readings in a row lie in it: while contacts bounce or the line charges, a single reading may
 * lie anywhere.
 */
#ifndef LADDER_H
#define LADDER_H

#include "table_checks.h"

void ladder_begin(void);

/* Takes a reading of a shoe; hands the shoe its value when that is settled. */
void ladder_take(uint8_t shoe, const struct shoe *row, uint16_t counts);

#endif

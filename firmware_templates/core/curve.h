/* The curve of a shoe: converter counts to values, along straight lines between a few points, flat beyond the ends. */
#ifndef CURVE_H
#define CURVE_H

#include "table_checks.h"

/* The value at a reading, rounded to the nearest; `row` lies in flash. */
uint16_t curve_value(const struct shoe *row, uint16_t counts);

/* 1 when a reading lies on or beyond one of the two ends, where the value does not change. */
uint8_t curve_is_flat_at(const struct shoe *row, uint16_t counts);

#endif

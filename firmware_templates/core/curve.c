#include "curve.h"

/* Straight line between two points of the curve.  The product has at most 14 bits of value and 16 of counts. */
static uint16_t curve_between(const struct shoe *row, uint8_t right, uint16_t counts)
{
    uint16_t counts0 = flash_read_word(&row->curve_counts[right - 1]);
    uint16_t span = (uint16_t)(flash_read_word(&row->curve_counts[right]) - counts0);
    uint16_t value0 = flash_read_word(&row->curve_values[right - 1]);
    uint16_t value1 = flash_read_word(&row->curve_values[right]);
    uint16_t rise = (uint16_t)(value1 >= value0 ? value1 - value0 : value0 - value1);
    uint32_t product = (uint32_t)rise * (uint16_t)(counts - counts0);
    uint16_t part = (uint16_t)((product + span / 2u) / span);
    return (uint16_t)(value1 >= value0 ? value0 + part : value0 - part);
}

static uint8_t curve_last(const struct shoe *row)
{
    return (uint8_t)(flash_read_byte(&row->curve_count) - 1);
}

uint16_t curve_value(const struct shoe *row, uint16_t counts)
{
    uint8_t last = curve_last(row);
    if (counts <= flash_read_word(&row->curve_counts[0])) {
        return flash_read_word(&row->curve_values[0]);
    }
    for (uint8_t right = 1; right <= last; right++) {
        if (counts < flash_read_word(&row->curve_counts[right])) {
            return curve_between(row, right, counts);
        }
    }
    return flash_read_word(&row->curve_values[last]);
}

uint8_t curve_is_flat_at(const struct shoe *row, uint16_t counts)
{
    return counts <= flash_read_word(&row->curve_counts[0]) ||
           counts >= flash_read_word(&row->curve_counts[curve_last(row)]);
}

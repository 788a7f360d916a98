#include "converter.h"

#include "port.h"
#include "shoes.h"
#include "table_checks.h"

#define COUNTS_NONE 0xFFFFu

static uint16_t accepted[AT_LEAST_ONE(SHOE_COUNT)]; /* counts last taken, or COUNTS_NONE */
static uint8_t reading;                             /* shoe that is being converted; SHOE_COUNT when there is none */
static uint8_t settling; /* 1 for the first conversion after a channel change, whose result is dropped */

/* The next shoe after `shoe` that has a converter channel; SHOE_COUNT when there is none at all. */
static uint8_t converter_shoe_after(uint8_t shoe)
{
    for (uint8_t tried = 0; tried != SHOE_COUNT; tried++) {
        shoe = (uint8_t)(shoe + 1 >= SHOE_COUNT ? 0 : shoe + 1);
        if (flash_read_byte(&shoe_table[shoe].kind) == SHOE_CONVERTER) {
            return shoe;
        }
    }
    return SHOE_COUNT;
}

static void converter_turn_to(uint8_t shoe)
{
    reading = shoe;
    settling = 1;
    if (shoe != SHOE_COUNT) {
        port_converter_start(flash_read_byte(&shoe_table[shoe].converter));
    }
}

void converter_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        accepted[i] = COUNTS_NONE;
    }
    converter_turn_to(converter_shoe_after(SHOE_COUNT));
}

/* Straight line between two points of the curve, rounded to the nearest value. */
static uint8_t curve_between(const struct shoe *row, uint8_t right, uint16_t counts)
{
    uint16_t counts0 = flash_read_word(&row->curve_counts[right - 1]);
    uint16_t span = (uint16_t)(flash_read_word(&row->curve_counts[right]) - counts0);
    uint8_t value0 = flash_read_byte(&row->curve_values[right - 1]);
    uint8_t value1 = flash_read_byte(&row->curve_values[right]);
    uint8_t rise = (uint8_t)(value1 >= value0 ? value1 - value0 : value0 - value1);
    uint32_t product = (uint32_t)rise * (uint16_t)(counts - counts0);
    uint8_t part = (uint8_t)((product + span / 2u) / span);
    return (uint8_t)(value1 >= value0 ? value0 + part : value0 - part);
}

static uint8_t curve_value(const struct shoe *row, uint16_t counts)
{
    uint8_t last = (uint8_t)(flash_read_byte(&row->curve_count) - 1);
    if (counts <= flash_read_word(&row->curve_counts[0])) {
        return flash_read_byte(&row->curve_values[0]);
    }
    for (uint8_t right = 1; right <= last; right++) {
        if (counts < flash_read_word(&row->curve_counts[right])) {
            return curve_between(row, right, counts);
        }
    }
    return flash_read_byte(&row->curve_values[last]);
}

/* At either end the value is flat, so a reading there is taken without hysteresis: both ends can always be reached,
 * and noise cannot leave them again without crossing the hysteresis. */
static uint8_t converter_accepts(const struct shoe *row, uint16_t last, uint16_t counts)
{
    uint8_t end = (uint8_t)(flash_read_byte(&row->curve_count) - 1);
    uint16_t difference = (uint16_t)(counts > last ? counts - last : last - counts);
    return last == COUNTS_NONE || difference > flash_read_byte(&row->hysteresis) ||
           counts <= flash_read_word(&row->curve_counts[0]) || counts >= flash_read_word(&row->curve_counts[end]);
}

void converter_tick(void)
{
    if (SHOE_COUNT == 0 || reading == SHOE_COUNT || !port_converter_is_done()) {
        return;
    }
    uint16_t counts = port_converter_counts();
    if (settling) {
        settling = 0;
        port_converter_start(flash_read_byte(&shoe_table[reading].converter));
        return;
    }
    const struct shoe *row = &shoe_table[reading];
    if (counts != accepted[reading] && converter_accepts(row, accepted[reading], counts)) {
        accepted[reading] = counts;
        shoe_set_value(reading, curve_value(row, counts));
    }
    converter_turn_to(converter_shoe_after(reading));
}

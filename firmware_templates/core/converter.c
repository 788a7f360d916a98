#include "converter.h"

#include "curve.h"
#include "ladder.h"
#include "port.h"
#include "shoes.h"

/* An eighth of full scale. */
#define LEAP_COUNTS (1u << (CONVERTER_BITS - 3))

struct converter_state {
    uint16_t accepted; /* counts last taken for a movement, or CONVERTER_NONE */
    uint16_t latest;   /* last reading, or CONVERTER_NONE */
    uint16_t lowest;   /* least reading since converter_ends_begin */
    uint16_t highest;  /* greatest reading since converter_ends_begin */
    uint8_t broken;    /* 1 while readings lie beyond the bounds */
};

uint16_t converter_faults;
static struct converter_state converter_states[AT_LEAST_ONE(SHOE_COUNT)];
static uint8_t reading;  /* shoe that is being converted; SHOE_COUNT when there is none */
static uint8_t settling; /* 1 for the first conversion after a channel change, whose result is dropped */

uint8_t converter_reads(uint8_t shoe)
{
    uint8_t kind = flash_read_byte(&shoe_table[shoe].kind);
    return kind == SHOE_CONVERTER || kind == SHOE_LADDER;
}

/* The next shoe after `shoe` that has a converter channel; SHOE_COUNT when there is none at all. */
static uint8_t converter_shoe_after(uint8_t shoe)
{
    for (uint8_t tried = 0; tried != SHOE_COUNT; tried++) {
        shoe = (uint8_t)(shoe + 1 >= SHOE_COUNT ? 0 : shoe + 1);
        if (converter_reads(shoe)) {
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

void converter_ends_begin(uint8_t shoe)
{
    converter_states[shoe].lowest = CONVERTER_NONE;
    converter_states[shoe].highest = 0;
}

void converter_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        converter_states[i].accepted = CONVERTER_NONE;
        converter_states[i].latest = CONVERTER_NONE;
        converter_states[i].broken = 0;
        converter_ends_begin(i);
    }
    converter_faults = 0;
    ladder_begin();
    converter_turn_to(converter_shoe_after(SHOE_COUNT));
}

uint16_t converter_reading(uint8_t shoe)
{
    return converter_states[shoe].latest;
}

uint8_t converter_is_broken(uint8_t shoe)
{
    return converter_states[shoe].broken;
}

uint16_t converter_lowest(uint8_t shoe)
{
    return converter_states[shoe].lowest;
}

uint16_t converter_highest(uint8_t shoe)
{
    return converter_states[shoe].highest;
}

static void converter_remember(struct converter_state *state, uint16_t counts)
{
    state->latest = counts;
    if (counts < state->lowest) {
        state->lowest = counts;
    }
    if (counts > state->highest) {
        state->highest = counts;
    }
}

/* 1 for a reading that no whole shoe gives. */
static uint8_t converter_judge(struct converter_state *state, const struct shoe *row, uint16_t counts)
{
    uint8_t broken = counts < flash_read_word(&row->lowest) || counts > flash_read_word(&row->highest);
    if (broken && !state->broken && converter_faults != UINT16_MAX) {
        converter_faults++;
    }
    state->broken = broken;
    return broken;
}

static uint16_t counts_apart(uint16_t one, uint16_t other)
{
    return (uint16_t)(one > other ? one - other : other - one);
}

/* 1 for a reading farther from the one before than a foot moves a shoe meanwhile: the next one must bear it out, for
 * where a track is worn its wiper lifts off now and then. */
static uint8_t converter_leaps(uint16_t before, uint16_t counts)
{
    return before != CONVERTER_NONE && counts_apart(before, counts) > LEAP_COUNTS;
}

/* At either end the value is flat, so a reading there is taken without hysteresis: both ends can always be reached,
 * and noise cannot leave them again without crossing the hysteresis. */
static uint8_t converter_accepts(const struct shoe *row, uint16_t last, uint16_t counts)
{
    return last == CONVERTER_NONE || counts_apart(last, counts) > flash_read_byte(&row->hysteresis) ||
           curve_is_flat_at(row, counts);
}

static void converter_take(uint8_t shoe, uint16_t counts)
{
    struct converter_state *state = &converter_states[shoe];
    const struct shoe *row = &shoe_table[shoe];
    uint8_t leaps = converter_leaps(state->latest, counts);
    converter_remember(state, counts);
    if (converter_judge(state, row, counts)) {
        return;
    }
    if (flash_read_byte(&row->kind) == SHOE_LADDER) {
        ladder_take(shoe, row, counts);
    } else if (!leaps && counts != state->accepted && converter_accepts(row, state->accepted, counts)) {
        state->accepted = counts;
        shoe_set_value(shoe, curve_value(row, counts));
    }
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
    converter_take(reading, counts);
    converter_turn_to(converter_shoe_after(reading));
}

#include "ladder.h"

#include "shoes.h"

#define STRETCH_NONE 0xFFu

struct ladder_state {
    uint8_t stretch; /* in which the last reading lay, or STRETCH_NONE */
    uint8_t agreed;  /* readings in a row that lay in it, counted up to the number that is wanted */
};

static struct ladder_state ladder_states[AT_LEAST_ONE(SHOE_COUNT)];

void ladder_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        ladder_states[i].stretch = STRETCH_NONE;
        ladder_states[i].agreed = 0;
    }
}

/* The stretch of a reading; what lies above the last belongs to it. */
static uint8_t ladder_stretch(const struct shoe *row, uint16_t counts)
{
    const struct ladder_step *step = &ladder_table[flash_read_word(&row->first_stage)];
    uint8_t last = (uint8_t)(flash_read_byte(&row->stage_count) - 1);
    uint8_t stretch = 0;
    while (stretch != last && counts > flash_read_word(&step->last)) {
        stretch++;
        step++;
    }
    return stretch;
}

static void ladder_settle(uint8_t shoe, const struct shoe *row, uint8_t stretch)
{
    uint16_t first = flash_read_word(&row->first_stage);
    uint8_t value = flash_read_byte(&ladder_table[first + stretch].value);
    if (value != LADDER_KEEP) {
        shoe_set_value(shoe, value);
    }
}

void ladder_take(uint8_t shoe, const struct shoe *row, uint16_t counts)
{
    struct ladder_state *state = &ladder_states[shoe];
    uint8_t wanted = flash_read_byte(&row->hysteresis);
    uint8_t stretch = ladder_stretch(row, counts);
    if (stretch != state->stretch) {
        state->stretch = stretch;
        state->agreed = 0;
    }
    if (state->agreed != wanted && ++state->agreed == wanted) {
        ladder_settle(shoe, row, stretch);
    }
}

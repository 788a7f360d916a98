#include "shoes.h"

#include "converter.h"
#include "midi.h"
#include "pump.h"
#include "stages.h"
#include "table_checks.h"

#define VALUE_UNKNOWN 0xFFFFu
#define FINE_ABOVE 32u /* the fine half of controller n is controller n + 32 (MIDI 1.0, table III) */

struct shoe_state {
    uint16_t value;      /* newest, or VALUE_UNKNOWN */
    uint16_t sent;       /* last sent, or VALUE_UNKNOWN */
    uint16_t rest_ticks; /* until another value may be sent */
    uint8_t fine_due;    /* 1 when the lower half of what was sent is still to be sent */
};

static struct shoe_state shoe_states[AT_LEAST_ONE(SHOE_COUNT)];
static uint8_t shoes_opened;
static uint8_t shoe_turn; /* shoe whose turn it is to send */
uint8_t shoes_ready;
uint16_t shoe_values_replaced;

void shoes_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        shoe_states[i].value = VALUE_UNKNOWN;
        shoe_states[i].sent = VALUE_UNKNOWN;
        shoe_states[i].rest_ticks = 0;
        shoe_states[i].fine_due = 0;
    }
    shoes_opened = 0;
    shoe_turn = 0;
    shoes_ready = 0;
    shoe_values_replaced = 0;
    converter_begin();
    stages_begin();
}

void shoes_open(void)
{
    shoes_opened = 1;
}

void shoes_repeat(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        shoe_states[i].sent = VALUE_UNKNOWN;
        shoe_states[i].fine_due = 0;
    }
}

void shoe_set_value(uint8_t shoe, uint16_t value)
{
    struct shoe_state *state = &shoe_states[shoe];
    uint8_t waits = shoes_opened && state->value != state->sent && state->value != VALUE_UNKNOWN;
    if (waits && value != state->value && shoe_values_replaced != UINT16_MAX) {
        shoe_values_replaced++;
    }
    state->value = value;
}

uint16_t shoe_value(uint8_t shoe)
{
    return shoe_states[shoe].value;
}

static uint8_t shoe_is_ready(const struct shoe_state *shoe)
{
    return shoe->fine_due || (shoe->value != shoe->sent && shoe->rest_ticks == 0);
}

static void shoes_count_time(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        struct shoe_state *shoe = &shoe_states[i];
        if (shoe->rest_ticks != 0) {
            shoe->rest_ticks--;
        }
        if (shoes_opened && shoe_is_ready(shoe)) {
            shoes_ready = 1;
            pump_pending = 1;
        }
    }
}

void shoes_tick(void)
{
    converter_tick();
    stages_tick();
    shoes_count_time();
}

/* The lower half of the value whose upper half was sent last, even when there is a newer one by now. */
static void shoe_send_fine(struct shoe_state *state, const struct shoe *row)
{
    uint8_t controller = (uint8_t)(flash_read_byte(&row->controller) + FINE_ABOVE);
    midi_send_control(flash_read_byte(&row->status), controller, (uint8_t)(state->sent & 0x7Fu));
    state->fine_due = 0;
}

static void shoe_send_new(struct shoe_state *state, const struct shoe *row)
{
    uint8_t fine = flash_read_byte(&row->fine);
    uint8_t upper_stays = fine && state->sent != VALUE_UNKNOWN && (state->sent ^ state->value) < 0x80u;
    state->sent = state->value;
    state->rest_ticks = SHOE_INTERVAL_TICKS;
    if (upper_stays) {
        shoe_send_fine(state, row);
        return;
    }
    uint8_t value = (uint8_t)(fine ? state->value >> 7 : state->value);
    midi_send_control(flash_read_byte(&row->status), flash_read_byte(&row->controller), value);
    state->fine_due = fine;
}

static void shoe_send(uint8_t shoe)
{
    struct shoe_state *state = &shoe_states[shoe];
    if (state->fine_due) {
        shoe_send_fine(state, &shoe_table[shoe]);
    } else {
        shoe_send_new(state, &shoe_table[shoe]);
    }
}

static void shoe_turn_on(void)
{
    shoe_turn++;
    if (shoe_turn == SHOE_COUNT) {
        shoe_turn = 0;
    }
}

/* A shoe whose lower half is due keeps its turn, so that the halves of two shoes do not mix. */
void shoes_send_next(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        uint8_t shoe = shoe_turn;
        if (shoe_is_ready(&shoe_states[shoe])) {
            shoe_send(shoe);
            if (!shoe_states[shoe].fine_due) {
                shoe_turn_on();
            }
            return;
        }
        shoe_turn_on();
    }
    shoes_ready = 0;
}

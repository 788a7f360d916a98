#include "shoes.h"

#include "converter.h"
#include "midi.h"
#include "pump.h"
#include "stages.h"
#include "table_checks.h"

#define VALUE_UNKNOWN 0xFFu

struct shoe_state {
    uint8_t value;      /* newest, or VALUE_UNKNOWN */
    uint8_t sent;       /* last sent, or VALUE_UNKNOWN */
    uint16_t rest_ticks; /* until another message may be sent */
};

static struct shoe_state shoe_states[AT_LEAST_ONE(SHOE_COUNT)];
static uint8_t shoes_opened;
static uint8_t shoe_turn; /* shoe whose turn it is to send */
uint8_t shoes_ready;

void shoes_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        shoe_states[i].value = VALUE_UNKNOWN;
        shoe_states[i].sent = VALUE_UNKNOWN;
        shoe_states[i].rest_ticks = 0;
    }
    shoes_opened = 0;
    shoe_turn = 0;
    shoes_ready = 0;
    converter_begin();
    stages_begin();
}

void shoes_open(void)
{
    shoes_opened = 1;
}

void shoe_set_value(uint8_t shoe, uint8_t value)
{
    shoe_states[shoe].value = value;
}

static uint8_t shoe_is_ready(const struct shoe_state *shoe)
{
    return shoe->value != shoe->sent && shoe->rest_ticks == 0;
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

static void shoe_send(uint8_t shoe)
{
    struct shoe_state *state = &shoe_states[shoe];
    const struct shoe *row = &shoe_table[shoe];
    midi_send_control(flash_read_byte(&row->status), flash_read_byte(&row->controller), state->value);
    state->sent = state->value;
    state->rest_ticks = SHOE_INTERVAL_TICKS;
}

void shoes_send_next(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        uint8_t shoe = shoe_turn;
        shoe_turn = (uint8_t)(shoe + 1);
        if (shoe_turn == SHOE_COUNT) {
            shoe_turn = 0;
        }
        if (shoe_is_ready(&shoe_states[shoe])) {
            shoe_send(shoe);
            return;
        }
    }
    shoes_ready = 0;
}

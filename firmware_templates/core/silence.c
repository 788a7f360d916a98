#include "silence.h"

#include "groups.h"
#include "lanes.h"
#include "messages.h"
#include "midi.h"
#include "outlets.h"
#include "pump.h"
#include "report.h"

#define PANIC_TICKS (PANIC_HELD_US / TICK_US)
#define ALL_CHANNELS 0xFFFFu

static uint16_t silenced_channels; /* a bit for each */
static uint8_t lanes_left;
static uint8_t lane_at;
static uint8_t modes_left; /* of a panic: two messages for each channel */
static uint8_t panic_ordered;
static uint16_t held_ticks;
uint8_t silence_left;

void silence_begin(void)
{
    silence_left = 0;
    silenced_channels = 0;
    lanes_left = 0;
    lane_at = 0;
    modes_left = 0;
    panic_ordered = 0;
    held_ticks = 0;
}

/* Goes round once from the present lane on, for the channels that are being silenced already too. */
static void round_begin(uint16_t channels)
{
    silenced_channels |= channels;
    lanes_left = LANE_COUNT;
    silence_left = 1;
    pump_pending = 1;
}

void panic_begin(void)
{
    panic_ordered = 1;
    modes_left = CHANNEL_COUNT * 2;
    round_begin(ALL_CHANNELS);
}

void silence_channel(uint8_t channel)
{
    round_begin((uint16_t)(1u << channel));
}

/* 1 when a contact sounds a note on a channel that is being silenced. */
static uint8_t contact_is_meant(uint8_t lane, uint8_t bit)
{
    uint8_t status = message_status(lane, bit);
    return (status & 0xF0u) == MIDI_NOTE_ON && (silenced_channels & (1u << (status & 0x0Fu))) != 0;
}

/* Ends one note of the present lane; returns 0 when there is none. */
static uint8_t lane_silence_next(struct lane_state *lane)
{
    uint8_t duty = lane->group->duty;
    if (duty == DUTY_STOPS || duty == DUTY_STAGES) {
        return 0;
    }
    uint8_t mask = 1;
    for (uint8_t left = lane->sent, bit = 0; left != 0; left >>= 1, bit++, mask = (uint8_t)(mask << 1)) {
        if ((left & 1) && contact_is_meant(lane_at, bit)) {
            lane->sent ^= mask;
            lane->muted |= lane_now(lane) & mask;
            message_send(lane_at, bit, 0);
            return 1;
        }
    }
    return 0;
}

static void mode_next(void)
{
    uint8_t left = --modes_left;
    uint8_t channel = flash_read_byte(&channel_table[left >> 1]);
    midi_send_control((uint8_t)(MIDI_CONTROL_CHANGE | channel), left & 1u ? MIDI_ALL_NOTES_OFF : MIDI_DAMPER, 0);
}

static void round_ends(void)
{
    silence_left = 0;
    silenced_channels = 0;
    if (panic_ordered) {
        panic_ordered = 0;
        report_again();
    }
}

uint8_t silence_next(void)
{
    if (lanes_left != 0) {
        if (lane_silence_next(&lane_states[lane_at])) {
            return 1;
        }
        lane_at = (uint8_t)(lane_at + 1u == LANE_COUNT ? 0u : lane_at + 1u);
        lanes_left--;
        return 0;
    }
    if (modes_left != 0) {
        mode_next();
        return 1;
    }
    round_ends();
    return 0;
}

/* A piston that was on at power-on does not count: it may be stuck. */
static uint8_t piston_is_held(uint16_t contact)
{
    const struct lane_state *lane = &lane_states[contact >> 3];
    return (uint8_t)(lane_now(lane) & ~lane->muted & (1u << (contact & 7u)));
}

void silence_tick(void)
{
    if (!PANIC_PISTONS) {
        return;
    }
    if (!piston_is_held(PANIC_FIRST) || !piston_is_held(PANIC_SECOND)) {
        held_ticks = 0;
    } else if (held_ticks != UINT16_MAX && ++held_ticks == PANIC_TICKS) {
        panic_begin();
    }
}

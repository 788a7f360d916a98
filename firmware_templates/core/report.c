#include "report.h"

#include "events.h"
#include "messages.h"
#include "midi.h"
#include "pump.h"
#include "shoes.h"

enum report_part { REPORT_HELD_KEYS = 0, REPORT_STOPS = 1, REPORT_PARTS = 2 };

static uint32_t waiting_ticks; /* until changes are reported */
static uint8_t opened;
static uint8_t report_part; /* enum report_part */
static uint8_t report_lane; /* the lane that is being reported */
static uint8_t report_rest; /* contacts of that lane not yet reported; 0 when the lane has not been begun */
static uint8_t report_begun;
uint8_t report_silence_left;
uint8_t report_state_left;

void report_begin(void)
{
    waiting_ticks = POWER_ON_TICKS;
    opened = 0;
    report_silence_left = CHANNEL_COUNT;
    pump_pending = 1;
    report_state_left = 0;
}

/* A key or piston that is on now stays unheard until it is released.  A stop that is on is sent by the report: from
 * here on it counts as sent, so that only later changes are queued. */
static void lane_take_over(struct lane_state *lane)
{
    uint8_t on = lane_now(lane) & lane->used;
    if (lane->duty == DUTY_STOPS) {
        lane->sent = on;
    } else {
        lane->muted = on;
    }
}

static void report_open(void)
{
    for (uint8_t lane = 0; lane != LANE_COUNT; lane++) {
        lane_take_over(&lane_states[lane]);
    }
    opened = 1;
    report_part = REPORT_HELD ? REPORT_HELD_KEYS : REPORT_STOPS;
    report_lane = 0;
    report_begun = 0;
    report_state_left = LANE_COUNT != 0;
    events_open();
    shoes_open();
    pump_pending = 1;
}

void report_tick(void)
{
    if (opened) {
        return;
    }
    if (waiting_ticks != 0) {
        waiting_ticks--;
    } else if (report_silence_left == 0) {
        report_open();
    }
}

void report_silence_next(void)
{
    uint8_t channel = flash_read_byte(&channel_table[CHANNEL_COUNT - report_silence_left]);
    report_silence_left--;
    midi_send_control((uint8_t)(MIDI_CONTROL_CHANGE | channel), MIDI_ALL_NOTES_OFF, 0);
}

/* The contacts of a lane that the present part of the report is about. */
static uint8_t report_subject(const struct lane_state *lane)
{
    if (report_part == REPORT_HELD_KEYS) {
        return lane->duty == DUTY_STAGES ? 0 : lane->muted;
    }
    return lane->duty == DUTY_STOPS ? lane->used : 0;
}

static void report_lane_done(void)
{
    report_begun = 0;
    if (++report_lane != LANE_COUNT) {
        return;
    }
    report_lane = 0;
    if (++report_part == REPORT_PARTS) {
        report_state_left = 0;
    }
}

static void report_contact(uint8_t lane, uint8_t bit)
{
    if (report_part == REPORT_HELD_KEYS) {
        midi_send_held((uint16_t)(lane * 8u + bit));
    } else {
        message_send(lane, bit, lane_states[lane].sent & (uint8_t)(1u << bit));
    }
}

void report_state_next(void)
{
    if (!report_begun) {
        report_rest = report_subject(&lane_states[report_lane]);
        report_begun = 1;
    }
    if (report_rest == 0) {
        report_lane_done();
        return;
    }
    uint8_t bit = 0;
    while (!(report_rest & (1u << bit))) {
        bit++;
    }
    report_rest &= (uint8_t)~(1u << bit);
    report_contact(report_lane, bit);
}

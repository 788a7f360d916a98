#include "report.h"

#include "events.h"
#include "groups.h"
#include "messages.h"
#include "midi.h"
#include "outlets.h"
#include "pump.h"
#include "remap_store.h"
#include "shoes.h"

enum report_part { REPORT_HELD_KEYS = 0, REPORT_STOPS = 1, REPORT_PARTS = 2 };

#define FIRST_PART (REPORT_HELD ? REPORT_HELD_KEYS : REPORT_STOPS)
#define AGAIN_TICKS (1000000ul / TICK_US) /* from one answer to the next */

static uint32_t waiting_ticks; /* until changes are reported */
static uint8_t opened;
static uint8_t report_part; /* enum report_part */
static uint8_t report_lane; /* the lane that is being reported */
static uint8_t report_rest; /* contacts of that lane not yet reported; 0 when the lane has not been begun */
static uint8_t report_begun;
static uint8_t again_asked;
static uint16_t again_rest_ticks; /* until it may begin */
uint8_t report_silence_left;
uint8_t report_silence_only;
uint8_t report_state_left;
uint8_t report_state_only;

static void silence_begin(uint8_t only)
{
    report_silence_left = CHANNEL_COUNT;
    report_silence_only = only;
    pump_pending = 1;
}

static void state_begin(uint8_t part, uint8_t only)
{
    report_part = part;
    report_lane = 0;
    report_begun = 0;
    report_state_left = LANE_COUNT != 0;
    report_state_only = only;
    shoes_repeat();
    pump_pending = 1;
}

void report_begin(void)
{
    waiting_ticks = POWER_ON_TICKS;
    opened = 0;
    again_asked = 0;
    again_rest_ticks = 0;
    report_state_left = 0;
    report_state_only = OUTLETS_ORDINARY;
    silence_begin(OUTLETS_ORDINARY);
}

/* A key or piston that is on now stays unheard until it is released.  A stop that is on is sent by the report: from
 * here on it counts as sent, so that only later changes are queued. */
static void lane_take_over(uint8_t lane)
{
    struct lane_state *state = &lane_states[lane];
    uint8_t on = lane_now(state) & lane_used(lane);
    if (state->group->duty == DUTY_STOPS) {
        state->sent = on;
    } else {
        state->sent = 0;
        state->muted = on;
    }
}

static void report_open(void)
{
    for (uint8_t lane = 0; lane != LANE_COUNT; lane++) {
        lane_take_over(lane);
    }
    opened = 1;
    events_open();
    shoes_open();
    state_begin(FIRST_PART, OUTLETS_ORDINARY);
}

void report_again(void)
{
    again_asked = 1;
}

/* Before it is opened nothing has been said that could be said again. */
static void again_tick(void)
{
    if (again_rest_ticks != 0) {
        again_rest_ticks--;
    } else if (again_asked && !report_state_left) {
        again_asked = 0;
        again_rest_ticks = AGAIN_TICKS;
        state_begin(REPORT_STOPS, OUTLETS_ORDINARY);
    }
}

/* Silence comes first, and what a contact sends must be known. */
static uint8_t may_open(void)
{
    return report_silence_left == 0 && (!LINK || !remap_store_is_reading());
}

void report_tick(void)
{
    if (opened) {
        again_tick();
    } else if (waiting_ticks != 0) {
        waiting_ticks--;
    } else if (may_open()) {
        report_open();
    }
}

/* The host's silence has been sent: it is sent everything from now on, how things stand first.  A state that is just
 * being sent to all begins again. */
static void host_open(void)
{
    report_silence_only = OUTLETS_ORDINARY;
    outlets_usb_open();
    state_begin(FIRST_PART, report_state_left ? report_state_only : OUTLET_USB);
}

/* By USB alone everything begins again, but the contacts have settled.  Beside the wire, whose beginning is not over
 * yet, silence begins again for both. */
void report_to_host(void)
{
    if (!MIDI_WIRE) {
        events_close();
        opened = 0;
        report_state_left = 0;
        silence_begin(OUTLETS_ORDINARY);
    } else if (!opened) {
        outlets_usb_open();
        silence_begin(OUTLETS_ORDINARY);
    } else {
        silence_begin(OUTLET_USB);
        if (CHANNEL_COUNT == 0) {
            host_open();
        }
    }
}

void report_forget_host(void)
{
    if (report_silence_only == OUTLET_USB) {
        report_silence_left = 0;
        report_silence_only = OUTLETS_ORDINARY;
    }
    if (report_state_only == OUTLET_USB) {
        report_state_left = 0;
        report_state_only = OUTLETS_ORDINARY;
    }
}

void report_silence_next(void)
{
    uint8_t channel = flash_read_byte(&channel_table[CHANNEL_COUNT - report_silence_left]);
    uint8_t only = report_silence_only;
    report_silence_left--;
    outlets_aim(only);
    midi_send_control((uint8_t)(MIDI_CONTROL_CHANGE | channel), MIDI_ALL_NOTES_OFF, 0);
    outlets_aim(OUTLETS_ORDINARY);
    if (report_silence_left == 0 && report_silence_only == OUTLET_USB) {
        host_open();
    }
}

/* The contacts of a lane that the present part of the report is about. */
static uint8_t report_subject(uint8_t lane)
{
    const struct lane_state *state = &lane_states[lane];
    uint8_t duty = state->group->duty;
    if (report_part == REPORT_HELD_KEYS) {
        return duty == DUTY_STAGES ? 0 : state->muted;
    }
    return duty == DUTY_STOPS ? lane_used(lane) : 0;
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
        report_rest = report_subject(report_lane);
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
    outlets_aim(report_state_only);
    report_contact(report_lane, bit);
    outlets_aim(OUTLETS_ORDINARY);
}

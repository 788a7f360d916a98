#include "stop_orders.h"

#include "events.h"
#include "groups.h"
#include "lanes.h"
#include "messages.h"

#define WAIT_TICKS (STOP_WAIT_US / TICK_US)

static uint8_t order[3];     /* the message, its second data byte 0 when it has none */
static uint8_t order_lane;   /* the next to be looked at */
static uint8_t order_bit;    /* its next contact */
static uint16_t wait_ticks; /* until the tabs are looked at; 0 when no order is fresh */
uint8_t stop_order_waits;

void stop_orders_begin(void)
{
    stop_order_waits = 0;
    wait_ticks = 0;
}

void stop_order_take(uint8_t status, uint8_t first, uint8_t second)
{
    order[0] = status;
    order[1] = first;
    order[2] = (status & 0xE0u) == 0xC0u ? 0 : second;
    order_lane = 0;
    order_bit = 0;
    stop_order_waits = LANE_COUNT != 0;
}

/* Enters the order if it is for this contact; returns 1 if so. */
static uint8_t contact_take_order(uint8_t lane, uint8_t bit, struct lane_state *state)
{
    uint8_t mask = (uint8_t)(1u << bit);
    if (!(lane_used(lane) & mask)) {
        return 0;
    }
    if (message_is(lane, bit, 1, order)) {
        state->sent |= mask;
        return 1;
    }
    if (message_is(lane, bit, 0, order)) {
        state->sent &= (uint8_t)~mask;
        return 1;
    }
    return 0;
}

/* Goes on to the next contact of a lane of stops, or past the lane; returns 1 behind the last lane. */
static uint8_t order_goes_past(const struct lane_state *state)
{
    if (state->group->duty == DUTY_STOPS && ++order_bit != 8) {
        return 0;
    }
    order_bit = 0;
    return ++order_lane == LANE_COUNT;
}

uint8_t stop_order_step(void)
{
    if (events_wait(DUTY_STOPS)) {
        return STOP_ORDER_GOES_ON;
    }
    struct lane_state *state = &lane_states[order_lane];
    if (state->group->duty == DUTY_STOPS && contact_take_order(order_lane, order_bit, state)) {
        stop_order_waits = 0;
        wait_ticks = WAIT_TICKS;
        return STOP_ORDER_TAKEN;
    }
    if (order_goes_past(state)) {
        stop_order_waits = 0;
        return STOP_ORDER_UNKNOWN;
    }
    return STOP_ORDER_GOES_ON;
}

void stop_orders_tick(void)
{
    if (wait_ticks != 0 && --wait_ticks == 0) {
        events_check(DUTY_STOPS);
    }
}

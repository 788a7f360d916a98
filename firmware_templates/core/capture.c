#include "capture.h"

#include "bounces.h"
#include "groups.h"
#include "inputs.h"
#include "lanes.h"
#include "link_bytes.h"
#include "port.h"

#if LINK && CAPTURE_LANES

#define CLEARED_AT_ONCE 2 /* contacts a tick */
#define TICK_COUNTS ((uint16_t)(TICK_US * PORT_COUNTS_PER_US))

/* One captured lane, 1 for on. */
struct captured_lane {
    uint8_t now;     /* at the last sample */
    uint8_t rested;  /* as each contact last came to rest */
    uint8_t running; /* contacts whose stroke is running */
};

static struct captured_lane captured[CAPTURE_LANES];
static struct bouncing contacts[CAPTURE_LANES * 8];
static uint8_t first_lane;
static uint8_t lanes; /* 0 as long as there has been no capture */
static uint8_t group; /* that the lanes belong to */
static uint8_t rest;
static uint8_t late; /* samples, at most 255; goes with every contact, since it bounds what their numbers are worth */
static uint8_t on;
static uint8_t cleared; /* contacts whose numbers are those of this capture; it begins when all are */

void capture_begin(void)
{
    on = 0;
    lanes = 0;
    cleared = 0;
}

uint8_t capture_is_on(void)
{
    return on;
}

/* As many lanes as there is room for, up to the end of their run. */
static void lanes_choose(uint8_t first)
{
    uint8_t i = 0;
    while ((uint8_t)(first - flash_read_byte(&run_table[i].first_lane)) >= flash_read_byte(&run_table[i].lane_count)) {
        i++;
    }
    uint8_t beyond = (uint8_t)(first - flash_read_byte(&run_table[i].first_lane));
    uint8_t there = (uint8_t)(flash_read_byte(&run_table[i].lane_count) - beyond);
    first_lane = first;
    lanes = there < CAPTURE_LANES ? there : CAPTURE_LANES;
    group = flash_read_byte(&run_table[i].group);
}

static void lanes_read(uint8_t *levels)
{
    inputs_read(first_lane, lanes, levels, 1);
    for (uint8_t i = 0; i != lanes; i++) {
        uint8_t lane = (uint8_t)(first_lane + i);
        levels[i] = (uint8_t)((levels[i] ^ lane_states[lane].invert) & lane_used(lane));
    }
}

uint8_t capture_start(const uint8_t *payload)
{
    if (!link_is_below(payload[0], LANE_COUNT) || payload[1] == 0) {
        return LINK_OUT_OF_RANGE;
    }
    lanes_choose(payload[0]);
    rest = payload[1];
    late = 0;
    on = 1;
    cleared = 0;
    return 0;
}

uint8_t capture_start_answer(uint8_t *payload)
{
    uint8_t *at = link_put_8(payload, first_lane);
    at = link_put_8(at, lanes);
    at = link_put_8(at, group);
    at = link_put_8(at, rest);
    at = link_put_8(at, late);
    return (uint8_t)(at - payload);
}

uint8_t capture_end(void)
{
    if (!on) {
        return LINK_NOT_RUNNING;
    }
    on = 0;
    if (cleared != lanes * 8) {
        lanes = 0; /* ended before it began: there is nothing to be asked for */
    }
    return 0;
}

/* A contact that ends as it was when it last rested was a spike. */
static void lane_settle(struct captured_lane *lane, struct bouncing *contact, uint8_t mask)
{
    uint8_t way = 2;
    if ((lane->now ^ lane->rested) & mask) {
        way = lane->now & mask ? 0 : 1;
    }
    bouncing_settle(contact, way);
    lane->rested = (uint8_t)((lane->rested & ~mask) | (lane->now & mask));
    lane->running &= (uint8_t)~mask;
}

static void lane_sample(struct captured_lane *lane, struct bouncing *contact, uint8_t now)
{
    uint8_t edges = lane->now ^ now;
    lane->now = now;
    lane->running |= edges;
    for (uint8_t mask = 1; mask != 0; mask = (uint8_t)(mask << 1), contact++) {
        if ((lane->running & mask) && bouncing_sample(contact, edges & mask, rest)) {
            lane_settle(lane, contact, mask);
        }
    }
}

/* Clears some contacts; behind the last, they all rest as they stand. */
static void clear_on(void)
{
    for (uint8_t left = CLEARED_AT_ONCE; left != 0; left--) {
        bouncing_begin(&contacts[cleared++]);
    }
    if (cleared == lanes * 8) {
        uint8_t levels[CAPTURE_LANES];
        lanes_read(levels);
        for (uint8_t i = 0; i != lanes; i++) {
            captured[i] = (struct captured_lane){levels[i], levels[i], 0};
        }
    }
}

static void lanes_sample(void)
{
    uint8_t levels[CAPTURE_LANES];
    lanes_read(levels);
    if (port_tick_counts() >= TICK_COUNTS && late != UINT8_MAX) {
        late++;
    }
    for (uint8_t i = 0; i != lanes; i++) {
        if (captured[i].now != levels[i] || captured[i].running != 0) {
            lane_sample(&captured[i], &contacts[i * 8u], levels[i]);
        }
    }
}

/* A group is due on the coming scan, so its samples are taken here a tick before those of the scan, as far apart. */
void capture_tick(void)
{
    if (!on) {
        return;
    }
    if (cleared != lanes * 8) {
        clear_on();
    } else if (group_states[group].pace->due) {
        lanes_sample();
    }
}

/* The contact's place among those that are captured; what was captured stays to be asked for when the capture ends. */
static uint16_t place_of(const uint8_t *payload)
{
    return (uint16_t)(link_get_16(payload) - first_lane * 8u);
}

uint8_t capture_judge(const uint8_t *payload)
{
    if (lanes == 0) {
        return LINK_NOT_RUNNING;
    }
    if (place_of(payload) >= lanes * 8u) {
        return LINK_OUT_OF_RANGE;
    }
    return cleared == lanes * 8 ? 0 : LINK_BUSY;
}

static uint8_t *put_way(uint8_t *at, const struct bounces *way)
{
    at = link_put_8(at, way->strokes);
    at = link_put_8(at, way->edges_last);
    at = link_put_8(at, way->edges_most);
    at = link_put_8(at, way->first_stay);
    at = link_put_16(at, way->longest);
    for (uint8_t bin = 0; bin != LINK_BINS; bin++) {
        at = link_put_8(at, way->bins[bin]);
    }
    return at;
}

uint8_t capture_answer(uint8_t *payload)
{
    uint8_t place = (uint8_t)place_of(payload);
    const struct bouncing *contact = &contacts[place];
    uint8_t *at = link_put_8(&payload[2], captured[place >> 3].now >> (place & 7u) & 1);
    at = link_put_8(at, contact->spikes);
    at = put_way(at, &contact->ways[0]);
    at = put_way(at, &contact->ways[1]);
    at = link_put_8(at, late);
    return (uint8_t)(at - payload);
}

#elif LINK

void capture_begin(void)
{
}

void capture_tick(void)
{
}

uint8_t capture_is_on(void)
{
    return 0;
}

uint8_t capture_start(const uint8_t *payload)
{
    (void)payload;
    return LINK_NOT_HERE;
}

uint8_t capture_judge(const uint8_t *payload)
{
    (void)payload;
    return LINK_NOT_HERE;
}

uint8_t capture_end(void)
{
    return LINK_NOT_HERE;
}

uint8_t capture_start_answer(uint8_t *payload)
{
    (void)payload;
    return 0;
}

uint8_t capture_answer(uint8_t *payload)
{
    (void)payload;
    return 0;
}

#endif

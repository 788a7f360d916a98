#include "link_inputs.h"

#include "converter.h"
#include "inputs.h"
#include "lanes.h"
#include "link_bytes.h"
#include "link_words.h"
#include "shoes.h"

#if LINK

#define LANE_BYTES 3 /* level, on, muted */

uint8_t link_lanes_judge(const uint8_t *payload)
{
    return link_is_below(payload[0], LANE_COUNT) ? 0 : LINK_OUT_OF_RANGE;
}

uint8_t link_shoes_judge(const uint8_t *payload)
{
    return link_is_below(payload[0], SHOE_COUNT) ? 0 : LINK_OUT_OF_RANGE;
}

static uint8_t fewer(uint8_t there, uint8_t most)
{
    return there < most ? there : most;
}

uint8_t link_lanes_answer(uint8_t *payload)
{
    uint8_t first = payload[0];
    uint8_t count = fewer((uint8_t)(LANE_COUNT - first), LINK_LANES_MOST);
    uint8_t *at = link_put_8(&payload[1], count);
    inputs_read(first, count, at, LANE_BYTES);
    for (uint8_t lane = first; lane != first + count; lane++, at += LANE_BYTES) {
        at[1] = lane_now(&lane_states[lane]) & lane_used(lane);
        at[2] = lane_states[lane].muted;
    }
    return (uint8_t)(at - payload);
}

static uint8_t *put_shoe(uint8_t *at, uint8_t shoe)
{
    uint16_t lowest = converter_lowest(shoe);
    at = link_put_16(at, converter_reading(shoe));
    at = link_put_16(at, shoe_value(shoe));
    at = link_put_16(at, lowest);
    return link_put_16(at, lowest == CONVERTER_NONE ? LINK_NONE_16 : converter_highest(shoe));
}

uint8_t link_shoes_answer(uint8_t *payload)
{
    uint8_t shoe = payload[0];
    uint8_t count = fewer((uint8_t)(SHOE_COUNT - shoe), LINK_SHOES_MOST);
    uint8_t *at = link_put_8(&payload[1], count);
    for (; count != 0; count--) {
        at = put_shoe(at, shoe++);
    }
    return (uint8_t)(at - payload);
}

void link_shoes_anew(void)
{
    for (uint8_t shoe = 0; shoe != SHOE_COUNT; shoe++) {
        converter_ends_begin(shoe);
    }
}

#endif

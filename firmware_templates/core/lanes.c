#include "lanes.h"

struct lane_state lane_states[AT_LEAST_ONE(LANE_COUNT)];
uint8_t lane_muted[AT_LEAST_ONE(LANE_COUNT)];
uint8_t lane_duties[AT_LEAST_ONE(LANE_COUNT)];

static void lane_begin(uint8_t lane, uint8_t duty)
{
    struct lane_state *state = &lane_states[lane];
    state->quiet = flash_read_byte(&lane_table[lane].invert);
    state->listen = lane_used(lane);
    state->attention = 0;
    state->sent = 0;
    lane_muted[lane] = 0;
    lane_duties[lane] = duty;
}

void lanes_begin(void)
{
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        const struct run *run = &run_table[i];
        uint8_t duty = flash_read_byte(&group_table[flash_read_byte(&run->group)].duty);
        uint8_t lane = flash_read_byte(&run->first_lane);
        for (uint8_t left = flash_read_byte(&run->lane_count); left != 0; left--) {
            lane_begin(lane++, duty);
        }
    }
}

#include "lanes.h"

#include "groups.h"

struct lane_state lane_states[AT_LEAST_ONE(LANE_COUNT)];

static void lane_begin(uint8_t lane, struct group_state *group)
{
    struct lane_state *state = &lane_states[lane];
    state->invert = flash_read_byte(&lane_table[lane].invert);
    state->group = group;
    state->quiet = state->invert;
    state->listen = lane_used(lane);
    state->attention = 0;
    state->sent = 0;
    state->muted = 0;
}

void lanes_begin(void)
{
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        const struct run *run = &run_table[i];
        struct group_state *group = &group_states[flash_read_byte(&run->group)];
        uint8_t lane = flash_read_byte(&run->first_lane);
        for (uint8_t left = flash_read_byte(&run->lane_count); left != 0; left--) {
            lane_begin(lane++, group);
        }
    }
}

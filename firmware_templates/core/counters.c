#include "counters.h"

uint8_t counter_planes[AT_LEAST_ONE(LANE_COUNT)][PLANES];

void counters_begin(void)
{
    for (uint8_t lane = 0; lane != LANE_COUNT; lane++) {
        for (uint8_t p = 0; p != PLANES; p++) {
            counter_planes[lane][p] = 0;
        }
    }
}

/* Adds 1 to the counters of the differing contacts, clears the others; returns those that reached their number. */
static uint8_t counters_step(uint8_t *planes, uint8_t differing, uint8_t on, const struct group_state *group)
{
    uint8_t press = group->press_count;
    uint8_t release = group->release_count;
    uint8_t off = (uint8_t)~on;
    uint8_t carry = differing;
    uint8_t reached = differing;
    for (uint8_t p = 0; p != PLANES; p++) {
        uint8_t plane = planes[p] & differing;
        /* The number to reach: of a contact that is on, the release count; of one that is off, the press count. */
        uint8_t wanted = (uint8_t)(((release & 1) ? on : 0) | ((press & 1) ? off : 0));
        uint8_t sum = plane ^ carry;
        carry &= plane;
        planes[p] = sum;
        reached &= (uint8_t)~(sum ^ wanted);
        press >>= 1;
        release >>= 1;
    }
    return reached;
}

uint8_t counters_sample(const struct group_state *group, uint8_t lane, struct lane_state *state, uint8_t raw)
{
    uint8_t *planes = counter_planes[lane];
    uint8_t differing = (uint8_t)((raw ^ state->quiet) & state->listen);
    uint8_t reached = counters_step(planes, differing, lane_now(state), group);
    state->quiet ^= reached;
    state->attention = (uint8_t)(differing & ~reached);
    if (reached != 0) {
        for (uint8_t p = 0; p != PLANES; p++) {
            planes[p] &= (uint8_t)~reached;
        }
    }
    return reached;
}

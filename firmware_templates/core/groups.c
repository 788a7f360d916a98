#include "groups.h"

static struct hold holds[AT_LEAST_ONE(HOLD_SLOTS)];
struct group_state group_states[AT_LEAST_ONE(GROUP_COUNT)];

static void group_begin_holds(struct group_state *state, const struct group *group)
{
    state->hold_count = flash_read_byte(&group->hold_count);
    state->hold_first = &holds[flash_read_word(&group->hold_first)];
    state->hold_end = state->hold_first + flash_read_word(&group->hold_slots);
    state->hold_oldest = state->hold_first;
    state->hold_next = state->hold_first;
    for (struct hold *hold = state->hold_first; hold != state->hold_end; hold++) {
        hold->mask = 0;
    }
}

static void group_begin(struct group_state *state, const struct group *group)
{
    state->due = 0;
    state->tick_mask = (uint8_t)((1u << flash_read_byte(&group->divider_log2)) - 1u);
    state->phase = flash_read_byte(&group->phase);
    state->samples = 0;
    state->family = flash_read_byte(&group->family);
    state->duty = flash_read_byte(&group->duty);
    state->shoe = flash_read_byte(&group->shoe);
    state->press_count = flash_read_byte(&group->press_count);
    state->release_count = flash_read_byte(&group->release_count);
    group_begin_holds(state, group);
}

void groups_begin(void)
{
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        group_begin(&group_states[i], &group_table[i]);
    }
}

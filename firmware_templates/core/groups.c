#include "groups.h"

#include <stddef.h>

static struct slot hold_slots[AT_LEAST_ONE(HOLD_SLOTS)];
struct group_state group_states[AT_LEAST_ONE(GROUP_COUNT)];

static void group_begin(struct group_state *state, const struct group *group)
{
    slot_ring_begin(&state->holds, &hold_slots[flash_read_word(&group->hold_first)],
                    flash_read_word(&group->hold_slots));
    state->hold_count = flash_read_byte(&group->hold_count);
    state->hold_due = state->hold_count;
    state->ring = NULL;
    state->family = flash_read_byte(&group->family);
    state->duty = flash_read_byte(&group->duty);
    state->shoe = flash_read_byte(&group->shoe);
    state->press_count = flash_read_byte(&group->press_count);
    state->release_count = flash_read_byte(&group->release_count);
    state->due = 0;
    state->tick_mask = (uint8_t)((1u << flash_read_byte(&group->divider_log2)) - 1u);
    state->phase = flash_read_byte(&group->phase);
}

void groups_begin(void)
{
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        group_begin(&group_states[i], &group_table[i]);
    }
}

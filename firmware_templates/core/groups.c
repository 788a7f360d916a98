#include "groups.h"

#include <stddef.h>

/* The rings of all groups one behind the other, each with the slot that ends it. */
static struct slot hold_slots[AT_LEAST_ONE(HOLD_SLOTS + GROUP_COUNT)];
struct group_state group_states[AT_LEAST_ONE(GROUP_COUNT)];

/* To be called once the group has its pace. */
static void group_begin_holds(struct group_state *state, const struct group *group, uint8_t rings_before)
{
    uint16_t count = flash_read_word(&group->hold_slots);
    state->hold_count = count != 0 ? flash_read_byte(&group->hold_count) : 0;
    if (state->hold_count == 0) {
        return;
    }
    uint16_t first = (uint16_t)(flash_read_word(&group->hold_first) + rings_before);
    slot_ring_begin(&state->holds, &hold_slots[first], count);
    if (state->hold_count < state->pace->hold_least) {
        state->pace->hold_least = state->hold_count;
    }
}

static void group_begin_pace(struct group_state *state, const struct group *group)
{
    uint8_t tick_mask = (uint8_t)((1u << flash_read_byte(&group->divider_log2)) - 1u);
    state->pace = pace_find(tick_mask, flash_read_byte(&group->phase));
}

static void group_begin(struct group_state *state, const struct group *group)
{
    state->ring = NULL;
    state->direct = NULL;
    state->family = flash_read_byte(&group->family);
    state->duty = flash_read_byte(&group->duty);
    state->shoe = flash_read_byte(&group->shoe);
    state->press_count = flash_read_byte(&group->press_count);
    state->release_count = flash_read_byte(&group->release_count);
}

void groups_begin(void)
{
    paces_begin();
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        group_begin(&group_states[i], &group_table[i]);
        group_begin_pace(&group_states[i], &group_table[i]);
        group_begin_holds(&group_states[i], &group_table[i], i);
    }
}

#include "groups.h"

#include <stddef.h>

/* One slot more than there are contacts: it is never filled, and groups without hold-offs look at it instead of at
 * one of another group. */
static struct slot hold_slots[HOLD_SLOTS + 1];
struct group_state group_states[AT_LEAST_ONE(GROUP_COUNT)];

static void group_begin_holds(struct group_state *state, const struct group *group)
{
    uint16_t count = flash_read_word(&group->hold_slots);
    uint16_t first = count != 0 ? flash_read_word(&group->hold_first) : HOLD_SLOTS;
    slot_ring_begin(&state->holds, &hold_slots[first], count);
    state->hold_count = flash_read_byte(&group->hold_count);
    state->hold_due = state->hold_count;
}

static void group_begin(struct group_state *state, const struct group *group)
{
    group_begin_holds(state, group);
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

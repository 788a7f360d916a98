#include "paces.h"

struct pace pace_states[AT_LEAST_ONE(GROUP_COUNT)];
struct pace *paces_end;

void paces_begin(void)
{
    paces_end = pace_states;
}

struct pace *pace_find(uint8_t tick_mask, uint8_t phase)
{
    struct pace *pace = pace_states;
    for (; pace != paces_end; pace++) {
        if (pace->tick_mask == tick_mask && pace->phase == phase) {
            return pace;
        }
    }
    paces_end++;
    pace->due = 0;
    pace->sample = 0;
    pace->hold_least = UINT8_MAX;
    pace->hold_wait = 0;
    pace->tick_mask = tick_mask;
    pace->phase = phase;
    return pace;
}

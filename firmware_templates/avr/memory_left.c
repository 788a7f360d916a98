#include "memory_left.h"

#if LINK

#define LOOKED_AT 24 /* bytes a call, so that the answer that wants it is worked out in 1,000 cycles */

static uint8_t *deepest; /* the lowest byte that is known to have been used by the stack */

/* The stack may have left a hole of untouched bytes, so the lowest of the window counts, not the first. */
uint16_t memory_left(void)
{
    uint8_t *at = deepest;
    for (uint8_t left = LOOKED_AT; left != 0 && at > memory_bottom(); left--) {
        at--;
        if (*at != MEMORY_PATTERN) {
            deepest = at;
        }
    }
    return deepest <= memory_bottom() ? 0 : (uint16_t)(deepest - &__heap_start);
}

/* From where the stack stands now down to where the calls before this one have reached; each round but the last goes
 * lower. */
void memory_begin(void)
{
    deepest = (uint8_t *)SP;
    uint16_t before;
    uint16_t left = memory_left();
    do {
        before = left;
        left = memory_left();
    } while (left != before);
}

#endif

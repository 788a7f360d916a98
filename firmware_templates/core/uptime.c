#include "uptime.h"

#include "table_checks.h"

#if LINK

#define SECOND_TICKS (1000000u / TICK_US)

uint32_t uptime_s;
static uint16_t second_left; /* ticks to the end of the present second */

void uptime_begin(void)
{
    uptime_s = 0;
    second_left = SECOND_TICKS;
}

uint8_t uptime_tick(void)
{
    if (--second_left != 0) {
        return 0;
    }
    second_left = SECOND_TICKS;
    uptime_s++;
    return 1;
}

#endif

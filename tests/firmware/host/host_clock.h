/* What the pretended board says of its time, its memory and its restart. */
#ifndef HOST_CLOCK_H
#define HOST_CLOCK_H

#include <stdint.h>

void host_clock_begin(void);

extern uint16_t host_tick_counts;       /* since the present tick began, whenever it is asked for */
extern uint8_t host_restart_cause;
extern uint16_t host_watchdog_restarts;
extern uint16_t host_free_memory;

#endif

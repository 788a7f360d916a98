/* Seconds since the start. */
#ifndef UPTIME_H
#define UPTIME_H

#include <stdint.h>

extern uint32_t uptime_s;

void uptime_begin(void);

/* Counts one tick; returns 1 when it ends a second. */
uint8_t uptime_tick(void);

#endif

#include "host_clock.h"

#include "port.h"

uint16_t host_tick_counts;
uint8_t host_restart_cause;
uint16_t host_watchdog_restarts;
uint16_t host_free_memory;

void host_clock_begin(void)
{
    host_tick_counts = 0;
    host_restart_cause = 1;
    host_watchdog_restarts = 0;
    host_free_memory = 1000;
}

uint16_t port_tick_counts(void)
{
    return host_tick_counts;
}

uint8_t port_restart_cause(void)
{
    return host_restart_cause;
}

uint16_t port_watchdog_restarts(void)
{
    return host_watchdog_restarts;
}

uint16_t port_free_memory(void)
{
    return host_free_memory;
}

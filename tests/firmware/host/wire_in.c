#include "wire_in.h"

#include "port.h"

static uint8_t ring[HOST_WIRE_IN];
static uint32_t put;
static uint32_t taken;

void host_wire_in_begin(void)
{
    put = 0;
    taken = 0;
}

uint8_t host_wire_in_give(uint8_t byte)
{
    if (put - taken == HOST_WIRE_IN) {
        return 0;
    }
    ring[put++ % HOST_WIRE_IN] = byte;
    return 1;
}

uint32_t host_wire_in_waiting(void)
{
    return put - taken;
}

uint8_t port_wire_take(uint8_t *byte)
{
    if (put == taken) {
        return 0;
    }
    *byte = ring[taken++ % HOST_WIRE_IN];
    return 1;
}

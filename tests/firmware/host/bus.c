/* The pretended two-wire bus, with expanders that keep registers as an MCP23017 does (Microchip DS20001952C, register
 * addresses with IOCON.BANK 0): a write sets the register pointer first, and every byte moves it on. */
#include "bus.h"

#include <assert.h>
#include <string.h>

#include "port.h"

#define FIRST_ADDRESS 0x20
#define IODIR 0x00
#define GPPU 0x0C
#define GPIO 0x12

struct host_expander host_expanders[HOST_EXPANDERS];
uint32_t host_bus_stuck;
uint32_t host_bus_releases;

enum talk { TALK_NONE, TALK_ADDRESS, TALK_POINTER, TALK_WRITE, TALK_READ };

static enum talk talk;
static struct host_expander *device; /* that was addressed; null when none has acknowledged */
static uint8_t ordered;              /* 1 while a step is under way or done and not followed */
static uint8_t good;
static uint8_t taken;

void host_bus_begin(void)
{
    memset(host_expanders, 0, sizeof host_expanders);
    for (int i = 0; i < HOST_EXPANDERS; i++) {
        memset(host_expanders[i].registers, 0xFF, 2); /* all pins are inputs after power-on */
    }
    host_bus_stuck = 0;
    host_bus_releases = 0;
    talk = TALK_NONE;
    ordered = 0;
}

void port_bus_start(void)
{
    talk = TALK_ADDRESS;
    ordered = 1;
    good = 1;
}

void port_bus_stop(void)
{
    talk = TALK_NONE;
    ordered = 0;
}

static void bus_address(uint8_t byte)
{
    int number = (byte >> 1) - FIRST_ADDRESS;
    int answers = number >= 0 && number < HOST_EXPANDERS && !host_expanders[number].absent;
    device = answers ? &host_expanders[number] : NULL;
    talk = byte & 1 ? TALK_READ : TALK_POINTER;
    good = answers != 0;
}

void port_bus_write(uint8_t byte)
{
    ordered = 1;
    if (talk == TALK_ADDRESS) {
        bus_address(byte);
        return;
    }
    assert(device != NULL && (talk == TALK_POINTER || talk == TALK_WRITE));
    if (talk == TALK_POINTER) {
        device->pointer = byte;
        talk = TALK_WRITE;
    } else {
        assert(device->pointer < HOST_EXPANDER_REGISTERS);
        device->registers[device->pointer++] = byte;
    }
    good = 1;
}

/* A pin reads its line when it is an input, which floats low without the pull-up, and drives low when it is none. */
static uint8_t expander_levels(const struct host_expander *expander, int port)
{
    uint8_t inputs = expander->registers[IODIR + port];
    return (uint8_t)(inputs & expander->levels[port] & expander->registers[GPPU + port]);
}

void port_bus_take(uint8_t more)
{
    assert(device != NULL && talk == TALK_READ && (device->pointer == GPIO || device->pointer == GPIO + 1));
    taken = expander_levels(device, device->pointer++ - GPIO);
    talk = more ? TALK_READ : TALK_NONE;
    ordered = 1;
    good = 1;
}

void port_bus_release(void)
{
    host_bus_releases++;
    talk = TALK_NONE;
    ordered = 0;
}

uint8_t port_bus_is_done(void)
{
    return ordered && !host_bus_stuck;
}

uint8_t port_bus_is_free(void)
{
    return 1;
}

uint8_t port_bus_went_well(void)
{
    return good;
}

uint8_t port_bus_byte(void)
{
    return taken;
}

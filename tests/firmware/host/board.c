#include "board.h"

#include <assert.h>
#include <string.h>

#include "bus.h"
#include "columns.h"
#include "console.h"
#include "host_clock.h"
#include "host_link.h"
#include "host_store.h"
#include "strobes.h"
#include "port.h"
#include "table_checks.h"
#include "usb.h"
#include "wire_in.h"

#define BYTE_US 320 /* 10 bits at 31,250 baud, IEC 63035 */
#define RING_BYTES 8

uint8_t host_registers[HOST_REGISTERS];
uint8_t host_ports[HOST_PORTS];
struct host_row host_rows[HOST_ROWS];
struct host_bank host_banks[HOST_BANKS];
uint16_t host_counts[HOST_CHANNELS];
uint8_t host_sent[HOST_SENT];
uint32_t host_sent_count;
uint32_t host_shifted;
uint32_t host_wire_stuck;

static uint8_t latched[HOST_REGISTERS];
static uint8_t outputs[HOST_PORTS];
static uint8_t waited_us;
static uint8_t converter_polls; /* polls until the conversion is done */
static uint8_t converter_channel;
static uint16_t converter_held; /* what the converter's capacitor still holds of the channel before */
static uint16_t converter_result;
static uint8_t wire_busy;
static uint8_t wire_ring;
static uint32_t wire_us;

void host_begin(void)
{
    memset(host_registers, 0xFF, sizeof host_registers);
    memset(host_ports, 0xFF, sizeof host_ports);
    memset(host_rows, 0, sizeof host_rows);
    memset(host_banks, 0, sizeof host_banks);
    memset(outputs, 0, sizeof outputs);
    host_bus_begin();
    memset(host_counts, 0, sizeof host_counts);
    host_columns_begin();
    host_sent_count = 0;
    host_wire_stuck = 0;
    wire_busy = 0;
    wire_ring = 0;
    wire_us = 0;
    converter_channel = UINT8_MAX;
    host_usb_begin();
    host_wire_in_begin();
    host_link_begin();
    host_store_begin();
    host_clock_begin();
    console_begin();
}

static void wire_byte_done(void)
{
    if (wire_ring != 0) {
        wire_ring--;
    } else {
        wire_busy = 0;
    }
}

void host_tick(void)
{
    console_tick();
    host_usb_tick();
    host_columns_rest();
    for (uint32_t us = 0; us < TICK_US; us += 5) {
        console_idle();
        if (wire_busy && !host_wire_stuck && (wire_us += 5) >= BYTE_US) {
            wire_us = 0;
            wire_byte_done();
        }
    }
}

void port_chain_latch(void)
{
    memcpy(latched, host_registers, sizeof latched);
    host_shifted = 0;
}

void port_chain_start(void)
{
    assert(host_shifted == 0);
}

uint8_t port_chain_take_and_start(void)
{
    assert(host_shifted + 1 <= REGISTER_COUNT);
    return latched[host_shifted++];
}

static uint8_t bank_selected(const struct host_bank *bank)
{
    uint8_t input = 0;
    for (int line = 0; line < HOST_SELECT_LINES; line++) {
        input |= (uint8_t)((outputs[bank->select_port[line]] & bank->select_mask[line]) ? 1u << line : 0u);
    }
    return input;
}

static uint8_t bank_level(struct host_bank *bank)
{
    if (waited_us >= bank->settle_us) {
        bank->shown = bank_selected(bank);
    }
    return bank->levels[bank->shown];
}

uint8_t port_read(uint8_t port)
{
    uint8_t level = host_ports[port];
    for (int i = 0; i < HOST_BANKS; i++) {
        if (host_banks[i].used && host_banks[i].common_port == port) {
            level = bank_level(&host_banks[i]);
        }
    }
    return (uint8_t)(host_strobed(port, level) & ~host_columns_low(port));
}

void port_output_put(uint8_t port, uint8_t mask, uint8_t high)
{
    outputs[port] = (uint8_t)(high ? outputs[port] | mask : outputs[port] & ~mask);
    host_columns_output(port, mask, high);
    waited_us = 0;
}

void port_wait_us(uint8_t us)
{
    waited_us = us;
    host_columns_wait(us);
    host_strobe_wait(us);
}

void port_converter_start(uint8_t channel)
{
    /* The first conversion behind a change of channel still shows half of what was held before. */
    uint16_t clean = host_counts[channel];
    uint16_t disturbed = (uint16_t)((clean + converter_held) / 2);
    converter_result = disturbed;
    if (channel == converter_channel) {
        converter_result = clean;
    }
    converter_held = clean;
    converter_channel = channel;
    converter_polls = 1;
}

uint8_t port_converter_is_done(void)
{
    return converter_polls == 0 || converter_polls-- == 0;
}

uint16_t port_converter_counts(void)
{
    assert(converter_polls == 0);
    return converter_result;
}

uint8_t port_wire_waiting(void)
{
    return wire_ring;
}

void port_wire_send(uint8_t byte)
{
    assert(host_sent_count < HOST_SENT);
    host_sent[host_sent_count++] = byte;
    if (!wire_busy) {
        wire_busy = 1;
        wire_us = 0;
        return;
    }
    assert(wire_ring < RING_BYTES);
    wire_ring++;
}

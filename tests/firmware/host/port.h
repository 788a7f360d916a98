/* The core's door to a pretended board, for tests on a PC. */
#ifndef PORT_H
#define PORT_H

#include <assert.h>
#include <stdint.h>

#include "lanes.h"
#include "slot.h"

#define PORT_ASSERT(condition) assert(condition)
#define PORT_MARK(value) ((void)(value))

void port_chain_latch(void);
void port_chain_start(void);
uint8_t port_chain_take_and_start(void);
uint8_t port_read(uint8_t port);
void port_row_drive(uint8_t port, uint8_t mask);
void port_row_release(uint8_t port, uint8_t mask);
void port_columns_drive(uint8_t port, uint8_t mask);
void port_columns_release(uint8_t port, uint8_t mask);
void port_output_put(uint8_t port, uint8_t mask, uint8_t high);
void port_wait_us(uint8_t us);
void port_bus_start(void);
void port_bus_stop(void);
void port_bus_write(uint8_t byte);
void port_bus_take(uint8_t more);
void port_bus_release(void);
uint8_t port_bus_is_done(void);
uint8_t port_bus_is_free(void);
uint8_t port_bus_went_well(void);
uint8_t port_bus_byte(void);
void port_converter_start(uint8_t channel);
uint8_t port_converter_is_done(void);
uint16_t port_converter_counts(void);
uint8_t port_wire_waiting(void);
void port_wire_send(uint8_t byte);
uint8_t port_wire_take(uint8_t *byte);
uint8_t port_usb_present(void);
uint8_t port_usb_room(void);
void port_usb_send(const uint8_t packet[4]);
void port_usb_flush(void);
uint8_t port_usb_take(uint8_t packet[4]);

uint8_t port_link_take(uint8_t *byte);
uint8_t port_link_room(void);
void port_link_send(uint8_t byte);

#define PORT_CHIP LINK_CHIP_HOST
#define PORT_COUNTS_PER_US 2
uint16_t port_tick_counts(void);

#define PORT_STORE_SIZE 1024u
uint8_t port_store_read(uint16_t at);
uint8_t port_store_is_ready(void);
void port_store_write(uint16_t at, uint8_t byte);
void port_store_commit(void);

uint8_t port_restart_cause(void);
uint16_t port_watchdog_restarts(void);
uint16_t port_free_memory(void);

static inline struct slot *port_slot_fill(struct slot *slot, uint8_t mask, uint8_t value, uint8_t lane)
{
    *slot = (struct slot){mask, value, lane};
    return slot + 1;
}

/* Passes lanes as long as they are quiet; the plain text of what a board may do faster. */
static inline uint8_t port_chain_pass_quiet(struct lane_state **lane, uint8_t *left)
{
    for (;;) {
        uint8_t raw = port_chain_take_and_start();
        if (!lane_is_quiet(*lane, raw)) {
            return raw;
        }
        (*lane)++;
        if (--*left == 0) {
            return raw;
        }
    }
}

#endif

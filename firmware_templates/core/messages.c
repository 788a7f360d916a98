#include "messages.h"

#include <stddef.h>

#include "midi.h"
#include "port.h"
#include "remap.h"
#include "table_checks.h"
#include "usb_packets.h"

static inline __attribute__((always_inline)) const uint8_t *message_bytes(uint8_t lane, uint8_t bit, uint8_t on)
{
#if LINK && REMAP_ROWS
    if (remap_count != 0) {
        uint16_t plays = remap_plays((uint16_t)(lane * 8u + bit));
        lane = (uint8_t)(plays >> 3);
        bit = (uint8_t)(plays & 7u);
    }
#endif
    /* Each product is of two 8-bit numbers, which AVR multiplies in two cycles. */
    const uint8_t *bytes = (const uint8_t *)message_table;
    bytes += lane * (8u * sizeof(struct message)) + bit * sizeof(struct message);
    if (!on) {
        bytes += offsetof(struct message, off);
    }
    return bytes;
}

uint8_t message_status(uint8_t lane, uint8_t bit)
{
    return flash_read_byte(message_bytes(lane, bit, 1));
}

uint8_t message_is(uint8_t lane, uint8_t bit, uint8_t on, const uint8_t bytes[3])
{
    const uint8_t *row = message_bytes(lane, bit, on);
    return flash_read_byte(&row[0]) == bytes[0] && flash_read_byte(&row[1]) == bytes[1] &&
           flash_read_byte(&row[2]) == bytes[2];
}

void message_send(uint8_t lane, uint8_t bit, uint8_t on)
{
    const uint8_t *bytes = message_bytes(lane, bit, on);
    uint8_t status = flash_read_byte(&bytes[0]);
    if (status == 0) {
        return;
    }
#if MIDI_WIRE
    if (outlets_by_wire()) {
        midi_send_status(status);
        port_wire_send(flash_read_byte(&bytes[1]));
        if (!midi_is_short(status)) {
            port_wire_send(flash_read_byte(&bytes[2]));
        }
    }
#endif
#if MIDI_USB
    if (outlets_by_usb()) {
        usb_give_channel(status, flash_read_byte(&bytes[1]), flash_read_byte(&bytes[2]));
    }
#endif
}

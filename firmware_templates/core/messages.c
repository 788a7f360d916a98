#include "messages.h"

#include <stddef.h>

#include "midi.h"
#include "port.h"
#include "table_checks.h"

void message_send(uint8_t lane, uint8_t bit, uint8_t on)
{
    /* Each product is of two 8-bit numbers, which AVR multiplies in two cycles. */
    const uint8_t *bytes = (const uint8_t *)message_table;
    bytes += lane * (8u * sizeof(struct message)) + bit * sizeof(struct message);
    if (!on) {
        bytes += offsetof(struct message, off);
    }
    uint8_t status = flash_read_byte(&bytes[0]);
    if (status == 0) {
        return;
    }
    midi_send_status(status);
    port_wire_send(flash_read_byte(&bytes[1]));
    if (!midi_is_short(status)) {
        port_wire_send(flash_read_byte(&bytes[2]));
    }
}

#include "messages.h"

#include "midi.h"
#include "table_checks.h"

void message_send(uint16_t row, uint8_t on)
{
    const struct message *message = &message_table[row];
    const uint8_t *bytes = on ? message->on : message->off;
    uint8_t status = flash_read_byte(&bytes[0]);
    if (status != 0) {
        midi_send(status, flash_read_byte(&bytes[1]), flash_read_byte(&bytes[2]));
    }
}

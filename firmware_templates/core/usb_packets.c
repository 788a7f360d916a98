#include "usb_packets.h"

#include "midi.h"
#include "outlets.h"

uint8_t usb_channel_given;

uint8_t usb_packet_size(uint8_t head)
{
    static const uint8_t sizes[16] TABLE_IN_FLASH = {0, 0, 2, 3, 3, 1, 2, 3, 3, 3, 3, 3, 2, 2, 3, 1};
    return head < 16 ? flash_read_byte(&sizes[head]) : 0;
}

#if MIDI_USB

/* Beside the wire there may be no room; by USB alone a message begins only when there is. */
static void usb_give(const uint8_t packet[USB_PACKET_BYTES])
{
    if (port_usb_room() == 0) {
        PORT_ASSERT(MIDI_WIRE);
        outlets_usb_refuse();
        return;
    }
    port_usb_send(packet);
    outlets_flush_due = 1;
}

void usb_give_channel(uint8_t status, uint8_t first, uint8_t second)
{
    uint8_t packet[USB_PACKET_BYTES] = {(uint8_t)(status >> 4), status, first, second};
    if (midi_is_short(status)) {
        packet[3] = 0;
    }
    usb_channel_given = 1;
    usb_give(packet);
}

void usb_give_exclusive(const uint8_t *bytes, uint8_t count)
{
    uint8_t packet[USB_PACKET_BYTES] = {USB_CODE_EXCLUSIVE, 0, 0, 0};
    for (uint8_t i = 0; i != count; i++) {
        packet[i + 1] = bytes[i];
    }
    if (bytes[count - 1] == MIDI_EXCLUSIVE_END) {
        packet[0] = (uint8_t)(USB_CODE_LAST_OF_ONE + count - 1);
    }
    usb_give(packet);
}

#endif

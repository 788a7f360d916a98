#include "table_checks.h"

#if MIDI_USB

#ifndef USE_TINYUSB
#error "USB MIDI needs the USB stack TinyUSB: choose it for the board."
#endif

#include <Adafruit_TinyUSB.h>

#include "usb_midi.h"

/* The library takes a packet or refuses it, and cannot be asked beforehand.  So packets wait here, where the room is
 * known, and go over as far as the library takes them; nothing waits for it. */
#define PACKETS 16u /* a power of two */

static Adafruit_USBD_MIDI midi;
static uint8_t waiting[PACKETS][4];
static uint8_t packets_in;  /* modulo 256 */
static uint8_t packets_out; /* of these, how many the library has taken */

void usb_midi_begin(void)
{
    midi.begin();
}

uint8_t port_usb_present(void)
{
    return TinyUSBDevice.mounted() && !TinyUSBDevice.suspended();
}

/* What waited for a host that has gone is forgotten: whoever comes next is told anew how everything stands. */
static void packets_hand_on(void)
{
    if (!port_usb_present()) {
        packets_out = packets_in;
    }
    while (packets_out != packets_in && midi.writePacket(waiting[packets_out % PACKETS])) {
        packets_out++;
    }
}

uint8_t port_usb_room(void)
{
    packets_hand_on();
    return port_usb_present() ? static_cast<uint8_t>(PACKETS - static_cast<uint8_t>(packets_in - packets_out)) : 0;
}

void port_usb_send(const uint8_t packet[4])
{
    uint8_t *place = waiting[packets_in % PACKETS];
    for (uint8_t i = 0; i != 4; i++) {
        place[i] = packet[i];
    }
    packets_in++;
}

void port_usb_flush(void)
{
    packets_hand_on();
}

uint8_t port_usb_take(uint8_t packet[4])
{
    return midi.readPacket(packet);
}

#endif

#include "usb_midi.h"

#include <PluggableUSB.h>

#include "chip.h"
#include "usb_endpoint.h"

uint8_t port_usb_present(void)
{
    return USBDevice.configured() && !USBDevice.isSuspended();
}

#if MIDI_USB

namespace {

const uint8_t PACKET_BYTES = 4;
const uint8_t AUDIO = 0x01, AUDIO_CONTROL = 0x01, MIDI_STREAMING = 0x03;
const uint8_t ASSOCIATION = 0x0B, INTERFACE = 0x04, ENDPOINT = 0x05, CLASS_INTERFACE = 0x24, CLASS_ENDPOINT = 0x25;
const uint8_t HEADER = 0x01, IN_JACK = 0x02, OUT_JACK = 0x03, GENERAL = 0x01;
const uint8_t JACK_EMBEDDED = 0x01, JACK_EXTERNAL = 0x02, TRANSFER_BULK = 0x02, TO_THE_HOST = 0x80;

/* This is the only module that is plugged into the core's USB, so its numbers follow those of the serial port. */
const uint8_t CONTROL = CDC_ACM_INTERFACE + CDC_INTERFACE_COUNT, STREAMING = CONTROL + 1;
const uint8_t END_OUT = CDC_FIRST_ENDPOINT + CDC_ENPOINT_COUNT, END_IN = END_OUT + 1;

/* The jacks: what the host sends enters the board at jack 1 and would leave it at 4; what enters it at 2 leaves for the
 * host at 3. */
const uint8_t FROM_HOST = 1, ENTRANCE = 2, TO_HOST = 3, EXIT = 4;

/* In the order of appendix B of the class definition, the two interfaces held together by an association, which a
 * device of several functions needs (USB 2.0, Interface Association Descriptors). */
const uint8_t descriptors[] PROGMEM = {
    8, ASSOCIATION, CONTROL, 2, AUDIO, AUDIO_CONTROL, 0, 0,
    9, INTERFACE, CONTROL, 0, 0, AUDIO, AUDIO_CONTROL, 0, 0,
    9, CLASS_INTERFACE, HEADER, 0x00, 0x01, 9, 0, 1, STREAMING,
    9, INTERFACE, STREAMING, 0, 2, AUDIO, MIDI_STREAMING, 0, 0,
    7, CLASS_INTERFACE, HEADER, 0x00, 0x01, 7 + 6 + 6 + 9 + 9, 0,
    6, CLASS_INTERFACE, IN_JACK, JACK_EMBEDDED, FROM_HOST, 0,
    6, CLASS_INTERFACE, IN_JACK, JACK_EXTERNAL, ENTRANCE, 0,
    9, CLASS_INTERFACE, OUT_JACK, JACK_EMBEDDED, TO_HOST, 1, ENTRANCE, 1, 0,
    9, CLASS_INTERFACE, OUT_JACK, JACK_EXTERNAL, EXIT, 1, FROM_HOST, 1, 0,
    9, ENDPOINT, END_OUT, TRANSFER_BULK, ENDPOINT_BYTES, 0, 0, 0, 0,
    5, CLASS_ENDPOINT, GENERAL, 1, FROM_HOST,
    9, ENDPOINT, END_IN | TO_THE_HOST, TRANSFER_BULK, ENDPOINT_BYTES, 0, 0, 0, 0,
    5, CLASS_ENDPOINT, GENERAL, 1, TO_HOST,
};

uint8_t endpoint_types[2] = {EP_TYPE_BULK_OUT, EP_TYPE_BULK_IN};

class MidiInterface : public PluggableUSBModule
{
  public:
    MidiInterface() : PluggableUSBModule(2, 2, endpoint_types)
    {
        PluggableUSB().plug(this);
    }

  protected:
    int getInterface(uint8_t *interfaces) override
    {
        *interfaces = static_cast<uint8_t>(*interfaces + 2);
        return USB_SendControl(TRANSFER_PGM, descriptors, sizeof descriptors);
    }

    int getDescriptor(USBSetup &) override
    {
        return 0; /* none of our own */
    }

    bool setup(USBSetup &) override
    {
        return false; /* no request of the class is needed; it is refused by a stall */
    }
};

MidiInterface midi;

} // namespace

uint8_t port_usb_room(void)
{
    if (!port_usb_present()) {
        return 0;
    }
    uint8_t before = endpoint_enter(END_IN);
    uint8_t packets = endpoint_room() / PACKET_BYTES;
    endpoint_leave(before);
    return packets;
}

void port_usb_send(const uint8_t packet[4])
{
    uint8_t before = endpoint_enter(END_IN);
    for (uint8_t i = 0; i != PACKET_BYTES; i++) {
        UEDATX = packet[i];
    }
    if (!(UEINTX & _BV(RWAL))) {
        UEINTX = ENDPOINT_BANK_FILLED;
    }
    endpoint_leave(before);
}

void port_usb_flush(void)
{
    uint8_t before = endpoint_enter(END_IN);
    endpoint_flush();
    endpoint_leave(before);
}

/* A rest of fewer than four bytes is no packet (class definition, clause 4) and is dropped with its bank. */
uint8_t port_usb_take(uint8_t packet[4])
{
    if (!USBDevice.configured()) {
        return 0;
    }
    uint8_t before = endpoint_enter(END_OUT);
    uint8_t taken = 0;
    if (UEINTX & _BV(RXOUTI)) {
        taken = UEBCLX >= PACKET_BYTES;
        for (uint8_t i = 0; taken && i != PACKET_BYTES; i++) {
            packet[i] = UEDATX;
        }
        if (UEBCLX < PACKET_BYTES) {
            UEINTX = ENDPOINT_BANK_READ;
        }
    }
    endpoint_leave(before);
    return taken;
}

#endif

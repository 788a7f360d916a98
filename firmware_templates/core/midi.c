#include "midi.h"

#include "usb_packets.h"

#define IDLE_TICKS (300000u / TICK_US)
#define RENEW_TICKS (1000000u / TICK_US - 1u)

uint8_t midi_running;
uint16_t midi_idle_ticks;
uint16_t midi_status_ticks;
static uint8_t given_up; /* 1 when a running status was given up since the last part of a system exclusive message */

void midi_begin(void)
{
    midi_running = 0;
    midi_idle_ticks = 0;
    midi_status_ticks = 0;
    given_up = 0;
}

void midi_tick(void)
{
    if (midi_running != 0 && (++midi_idle_ticks >= IDLE_TICKS || ++midi_status_ticks >= RENEW_TICKS)) {
        midi_running = 0;
        given_up = 1;
    }
}

void midi_send_control(uint8_t status, uint8_t controller, uint8_t value)
{
#if MIDI_WIRE
    if (outlets_by_wire()) {
        midi_send_status(status);
        port_wire_send(controller);
        port_wire_send(value);
    }
#endif
#if MIDI_USB
    if (outlets_by_usb()) {
        usb_give_channel(status, controller, value);
    }
#endif
}

void midi_send_held(uint16_t contact)
{
    const uint8_t begin[3] = {MIDI_EXCLUSIVE, MIDI_NON_COMMERCIAL, MIDI_OURS_HELD};
    const uint8_t end[3] = {(uint8_t)(contact >> 7), (uint8_t)(contact & 0x7Fu), MIDI_EXCLUSIVE_END};
    midi_send_exclusive_part(begin, 3);
    midi_send_exclusive_part(end, 3);
}

void midi_send_exclusive_part(const uint8_t *bytes, uint8_t count)
{
#if MIDI_WIRE
    if (outlets_by_wire()) {
        for (uint8_t i = 0; i != count; i++) {
            port_wire_send(bytes[i]);
        }
        midi_running = 0; /* a system exclusive message ends running status */
        given_up = 0;
    }
#endif
#if MIDI_USB
    if (outlets_by_usb()) {
        usb_give_exclusive(bytes, count);
        usb_channel_given = 0;
    }
#endif
}

uint8_t midi_exclusive_is_cut(void)
{
    return (outlets_by_wire() && (midi_running != 0 || given_up)) || (outlets_by_usb() && usb_channel_given);
}

#include "midi.h"

#define IDLE_TICKS (300000u / TICK_US)
#define RENEW_TICKS (1000000u / TICK_US - 1u)

uint8_t midi_running;
uint16_t midi_idle_ticks;
uint16_t midi_status_ticks;

void midi_begin(void)
{
    midi_running = 0;
    midi_idle_ticks = 0;
    midi_status_ticks = 0;
}

void midi_tick(void)
{
    if (midi_running != 0 && (++midi_idle_ticks >= IDLE_TICKS || ++midi_status_ticks >= RENEW_TICKS)) {
        midi_running = 0;
    }
}

void midi_send_control(uint8_t status, uint8_t controller, uint8_t value)
{
    midi_send_status(status);
    port_wire_send(controller);
    port_wire_send(value);
}

void midi_send_held(uint16_t contact)
{
    port_wire_send(MIDI_EXCLUSIVE);
    port_wire_send(MIDI_NON_COMMERCIAL);
    port_wire_send(1);
    port_wire_send((uint8_t)(contact >> 7));
    port_wire_send((uint8_t)(contact & 0x7Fu));
    port_wire_send(MIDI_EXCLUSIVE_END);
    midi_running = 0; /* a system exclusive message ends running status */
}

#include "midi.h"

#include "port.h"
#include "table_checks.h"

#define IDLE_TICKS (300000u / TICK_US)
#define RENEW_TICKS (1000000u / TICK_US - 1u)

static uint8_t running;       /* status that the receiver will assume; 0 for none */
static uint16_t idle_ticks;   /* since the last message */
static uint16_t status_ticks; /* since the running status was last sent in full */

void midi_begin(void)
{
    running = 0;
    idle_ticks = 0;
    status_ticks = 0;
}

void midi_tick(void)
{
    if (running != 0 && (++idle_ticks >= IDLE_TICKS || ++status_ticks >= RENEW_TICKS)) {
        running = 0;
    }
}

void midi_send(uint8_t status, uint8_t data1, uint8_t data2)
{
    if (!RUNNING_STATUS || status != running) {
        port_wire_send(status);
        running = status;
        status_ticks = 0;
    }
    port_wire_send(data1);
    if ((status & 0xE0u) != 0xC0u) {
        port_wire_send(data2);
    }
    idle_ticks = 0;
}

void midi_send_held(uint16_t contact)
{
    port_wire_send(MIDI_EXCLUSIVE);
    port_wire_send(MIDI_NON_COMMERCIAL);
    port_wire_send(1);
    port_wire_send((uint8_t)(contact >> 7));
    port_wire_send((uint8_t)(contact & 0x7Fu));
    port_wire_send(MIDI_EXCLUSIVE_END);
    running = 0; /* a system exclusive message ends running status */
}

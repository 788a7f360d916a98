/* Messages out: onto the wire with running status, into packets of USB without.
 *
 * Status bytes and running status: MIDI 1.0 Detailed Specification.
 */
#ifndef MIDI_H
#define MIDI_H

#include "outlets.h"
#include "port.h"
#include "table_checks.h"

#define MIDI_NOTE_ON 0x90u
#define MIDI_CONTROL_CHANGE 0xB0u
#define MIDI_DAMPER 64u
#define MIDI_ALL_SOUND_OFF 120u
#define MIDI_ALL_NOTES_OFF 123u
#define MIDI_EXCLUSIVE 0xF0u
#define MIDI_EXCLUSIVE_END 0xF7u
#define MIDI_REAL_TIME 0xF8u /* and above */
#define MIDI_NON_COMMERCIAL 0x7Du

/* The longest message sent at once, in bytes (the report of a held contact). */
#define MIDI_LONGEST 6

/* Sub-identifiers of our own system exclusive messages, behind F0 7D. */
#define MIDI_OURS_HELD 1u    /* out: a contact was on at power-on */
#define MIDI_OURS_REQUEST 2u /* in: stops and shoes are to be sent again */

void midi_begin(void);

/* Counts one tick of time: running status is given up after 300 ms of silence, and each second in any case, so that a
 * receiver plugged in later understands again. */
void midi_tick(void);

extern uint8_t midi_running;       /* status that the receiver will assume; 0 for none */
extern uint16_t midi_idle_ticks;   /* since the last message */
extern uint16_t midi_status_ticks; /* since a status was last sent */

/* Begins a channel message on the wire: sends its status unless the receiver assumes it anyhow. */
static inline __attribute__((always_inline)) void midi_send_status(uint8_t status)
{
    if (!RUNNING_STATUS || status != midi_running) {
        port_wire_send(status);
        midi_running = status;
        midi_status_ticks = 0;
    }
    midi_idle_ticks = 0;
}

/* 1 when a status is followed by one data byte only: program change and channel pressure. */
static inline uint8_t midi_is_short(uint8_t status)
{
    return (status & 0xE0u) == 0xC0u;
}

/* Sends a control change; `status` holds the channel. */
void midi_send_control(uint8_t status, uint8_t controller, uint8_t value);

/* Sends F0 7D 01 high low F7: contact number high * 128 + low was on at power-on and is muted until released. */
void midi_send_held(uint16_t contact);

/* Sends one to three bytes of a system exclusive message, of which the first begins and the last ends it. */
void midi_send_exclusive_part(const uint8_t *bytes, uint8_t count);

/* 1 when a message has been sent behind the last part of a system exclusive message that has not ended: the receiver
 * has then dropped it. */
uint8_t midi_exclusive_is_cut(void);

#endif

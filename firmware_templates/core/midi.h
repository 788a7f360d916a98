/* Messages onto the wire, with running status.
 *
 * Status bytes and running status: MIDI 1.0 Detailed Specification.
 */
#ifndef MIDI_H
#define MIDI_H

#include <stdint.h>

#define MIDI_CONTROL_CHANGE 0xB0u
#define MIDI_ALL_NOTES_OFF 123u
#define MIDI_EXCLUSIVE 0xF0u
#define MIDI_EXCLUSIVE_END 0xF7u
#define MIDI_NON_COMMERCIAL 0x7Du

/* The longest message sent, in bytes (the report of a held contact). */
#define MIDI_LONGEST 6

void midi_begin(void);

/* Counts one tick of time: running status is given up after 300 ms of silence, and each second in any case, so that a
 * receiver plugged in later understands again. */
void midi_tick(void);

/* Sends a channel message; program change and channel pressure have no second data byte. */
void midi_send(uint8_t status, uint8_t data1, uint8_t data2);

/* Sends F0 7D 01 high low F7: contact number high * 128 + low was on at power-on and is muted until released. */
void midi_send_held(uint16_t contact);

#endif

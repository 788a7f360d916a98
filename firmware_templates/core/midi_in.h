/* MIDI in: bytes from the wire and packets from USB become messages; what they ask for is done elsewhere.
 *
 * As MIDI 1.0 says: data without a status repeat the last channel status (running status); real-time bytes may come at
 * any place and change nothing; a system exclusive message ends with F7 or with any other status, and its bytes are
 * kept only as far as a message for us is long, so that one without end is merely waited out; undefined statuses end
 * what came before.  Nothing that comes in is ever passed on.
 */
#ifndef MIDI_IN_H
#define MIDI_IN_H

#include <stdint.h>

#include "stop_orders.h"

#define MIDI_IN_KEPT 4 /* data bytes of the longest system exclusive message for us: 7E 7F 06 01 */

/* A stream of bytes. */
struct midi_stream {
    uint8_t status;             /* of the message that is coming in, or that data would repeat; 0 for none */
    uint8_t count;              /* its data bytes so far; MIDI_IN_KEPT + 1 when it is longer than that */
    uint8_t data[MIDI_IN_KEPT]; /* the first of them */
};

extern uint16_t midi_in_ignored; /* messages that ask for nothing of ours; at most 65535 */
extern uint16_t midi_in_broken;  /* messages cut short, data without a status, undefined statuses; at most 65535 */

void midi_in_begin(void);

/* Takes what has come in, a bounded number of bytes; to be called each tick. */
void midi_in_tick(void);

/* Goes on with a stop's order, and with what came behind it. */
void midi_in_go_on(void);

/* Between two ticks; nothing where stops are not listened to. */
static inline void midi_in_run(void)
{
    if (LISTEN_STOPS && stop_order_waits) {
        midi_in_go_on();
    }
}

#endif

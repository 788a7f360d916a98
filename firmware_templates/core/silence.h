/* Silence on order: a panic at the console, or an All Notes Off that has come in.
 *
 * Goes round the lanes when nothing more urgent waits, so that `sent` is what the receiver has by then.  Each note that is
 * on there is sent its own off, although an All Notes Off that came in has silenced it: a note-on may have been on its
 * way meanwhile.  Its key stays unheard until it is released.  A panic then sends All Notes Off and damper off on each
 * channel that carries notes (MIDI 1.0, channel mode messages), leaves shoes alone, and has the stops said again.
 */
#ifndef SILENCE_H
#define SILENCE_H

#include <stdint.h>

#define PANIC_HELD_US 2000000ul /* for so long both pistons of a panic are held */

void silence_begin(void);

/* Counts how long the two pistons of a panic have been held. */
void silence_tick(void);

/* Silences everything. */
void panic_begin(void);

/* Silences what this console sounds on a channel (0 to 15). */
void silence_channel(uint8_t channel);

/* 1 while there is something left to be silenced. */
extern uint8_t silence_left;

/* Goes a step on; returns 1 when it has sent a message. */
uint8_t silence_next(void);

#endif

/* MIDI in: the receiver of USART1, on pin 19 (RX1) of the ATmega2560 and pin 0 of the ATmega32U4.
 *
 * A byte lasts 320 us and the receiver holds two, so an interrupt takes each into a ring, for scans may last longer.  A
 * byte that meets a full ring is lost; the reader of the bytes then meets a message cut short, as it would on any bad
 * line.
 */
#ifndef WIRE_IN_H
#define WIRE_IN_H

#include <stdint.h>

#define WIRE_IN_SLOTS 16 /* a power of two: what arrives in 5 ms */

extern volatile uint8_t wire_in_put;   /* bytes taken in, modulo 256 */
extern volatile uint8_t wire_in_taken; /* bytes taken out */
extern volatile uint8_t wire_in_ring[WIRE_IN_SLOTS];

/* Takes the oldest byte; returns 0 when there is none. */
static inline uint8_t wire_in_take(uint8_t *byte)
{
    uint8_t taken = wire_in_taken;
    if (taken == wire_in_put) {
        return 0;
    }
    *byte = wire_in_ring[taken & (WIRE_IN_SLOTS - 1)];
    wire_in_taken = (uint8_t)(taken + 1);
    return 1;
}

#endif

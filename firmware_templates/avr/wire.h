/* MIDI out: USART1 at 31,250 baud, 8 data bits, no parity, 1 stop bit (IEC 63035), on TX1: pin 18 of the
 * ATmega2560, pin 1 of the ATmega32U4.
 *
 * A byte ring of about one message feeds the transmitter from its interrupt, so that the wire never waits for a scan.
 */
#ifndef WIRE_H
#define WIRE_H

#include <avr/io.h>
#include <stdint.h>

#define WIRE_SLOTS 8 /* a power of two; the longest message and one byte more fit */

extern volatile uint8_t wire_in;  /* bytes put into the ring, modulo 256 */
extern volatile uint8_t wire_out; /* bytes taken out */

void wire_begin(void);

/* Puts a byte into the ring, which must have room. */
void wire_put(uint8_t byte);

/* Bytes in the ring; the transmitter's own two registers are not counted. */
static inline uint8_t wire_waiting(void)
{
    return (uint8_t)(wire_in - wire_out);
}

/* Sends now when the transmitter has room and nothing waits (its interrupt is off), otherwise through the ring. */
static inline __attribute__((always_inline)) void wire_send(uint8_t byte)
{
    if (!(UCSR1B & _BV(UDRIE1)) && (UCSR1A & _BV(UDRE1))) {
        UDR1 = byte;
    } else {
        wire_put(byte);
    }
}

#endif

/* MIDI out and in: serial port 1 at 31,250 baud, 8 data bits, no parity, 1 stop bit (IEC 63035), on GP20 and GP21.
 *
 * The port's own store of 32 bytes takes what is sent.  It does not say how full it is; but a byte takes exactly 320
 * of the chip's microseconds, which come from the same crystal, so the moment at which all will have been sent says it.
 */
#ifndef WIRE_H
#define WIRE_H

#include <stdint.h>

#include "registers.h"

#define WIRE_BYTE_US 320u

extern uint32_t wire_free_us; /* when everything given will have been sent, if that is still to come */

void wire_begin(void);

/* Microseconds until the wire is idle.  That it is idle now is asked of the port: the moment kept here may be so long
 * ago that it seems to lie ahead. */
static inline uint32_t wire_busy_us(void)
{
    if (!(UART1_FR & UART_FR_BUSY)) {
        return 0;
    }
    uint32_t left = wire_free_us - TIMER_RAW_LOW;
    return left > UINT32_MAX / 2u ? 0 : left;
}

/* Bytes waiting behind the two that a transmitter holds, as on a board whose transmitter holds two: the message that
 * comes next then waits equally long on every board. */
static inline uint8_t wire_waiting(void)
{
    uint32_t left = wire_busy_us();
    return left <= 2u * WIRE_BYTE_US ? 0 : (uint8_t)((left - 1u) / WIRE_BYTE_US - 1u);
}

/* Gives the port a byte; it has room, since no more than a message is sent at a time. */
static inline void wire_send(uint8_t byte)
{
    uint32_t left = wire_busy_us();
    UART1_DR = byte;
    wire_free_us = TIMER_RAW_LOW + left + WIRE_BYTE_US;
}

/* 1 if a byte came in; one that came with an error is left out. */
uint8_t wire_take(uint8_t *byte);

#endif

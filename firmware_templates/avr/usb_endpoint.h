/* The end points of the ATmega32U4's USB device controller, by register (Atmel 7766, USB device operating modes).
 *
 * The stock core's interrupts select end points of their own and do not put the selection back, so each access selects
 * its own and keeps interrupts out until it is done: some 20 cycles.
 */
#ifndef USB_ENDPOINT_H
#define USB_ENDPOINT_H

#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdint.h>

#define ENDPOINT_BYTES 64

/* Written to the interrupt register, a 0 clears its flag: hands the bank that was filled to the host, or the bank that
 * was read out back to the controller. */
#define ENDPOINT_BANK_FILLED ((uint8_t)~(_BV(FIFOCON) | _BV(TXINI)))
#define ENDPOINT_BANK_READ ((uint8_t)~(_BV(FIFOCON) | _BV(RXOUTI)))

/* Selects an end point; returns what endpoint_leave puts back. */
static inline uint8_t endpoint_enter(uint8_t endpoint)
{
    uint8_t interrupts = SREG;
    cli();
    UENUM = endpoint;
    return interrupts;
}

static inline void endpoint_leave(uint8_t interrupts)
{
    SREG = interrupts;
}

/* Of the selected end point: bytes that the present bank still takes; 0 when no bank is free. */
static inline uint8_t endpoint_room(void)
{
    return (UEINTX & _BV(RWAL)) ? (uint8_t)(ENDPOINT_BYTES - UEBCLX) : 0;
}

/* Of the selected end point: hands over a bank that holds anything. */
static inline void endpoint_flush(void)
{
    if ((UEINTX & _BV(RWAL)) && UEBCLX != 0) {
        UEINTX = ENDPOINT_BANK_FILLED;
    }
}

#endif

/* The ATmega32U4 (Atmel 7766): its ports, its chain pins, its converter channels, and what a restart has to quieten. */
#ifndef ATMEGA32U4_H
#define ATMEGA32U4_H

#include <avr/io.h>
#include <stdint.h>

#include "usb_link.h"
#include "usb_midi.h"

#define PORT_CHIP LINK_CHIP_ATMEGA32U4 /* enum link_chip */
#define PORT_COUNT 5
#define EACH_PORT(each) each(B), each(C), each(D), each(E), each(F)

/* The load line of the chain, on pin 7 (PE6): the chip's own select pin (PB0) carries a lamp of the board.  Clock, data
 * out and data in are PB1, PB2 and PB3, on the header of the serial peripheral. */
#define CHAIN_LATCH_PORT PORTE
#define CHAIN_LATCH_DIRECTION DDRE
#define CHAIN_LATCH_BIT 6

/* The stock core has begun USB, and puts out its two lamps (PB0 and PD5) as outputs; PB0 must be one in any case, since
 * as an input it could end the serial peripheral's being the master.  The core's interrupt at every start of a frame,
 * each millisecond, is turned off: it would shift scans, and only sends off what tick and burst end send off here. */
static inline void chip_begin(void)
{
    DDRB |= _BV(0);
    DDRD |= _BV(5);
    UDIEN &= (uint8_t)~_BV(SOFE);
}

/* Channels 0, 1 and 4 to 7 are port F; 8 to 10 are PD4, PD6 and PD7, 11 to 13 are PB4 to PB6. */
static inline void chip_free_converter(uint8_t channel)
{
    if (channel < 8) {
        PORTF &= (uint8_t)~_BV(channel);
        DIDR0 |= (uint8_t)_BV(channel);
        return;
    }
    if (channel < 11) {
        PORTD &= (uint8_t)~(channel == 8 ? _BV(4) : channel == 9 ? _BV(6) : _BV(7));
    } else {
        PORTB &= (uint8_t)~_BV(channel - 7u);
    }
    DIDR2 |= (uint8_t)_BV(channel & 7u);
}

/* Connects a channel against the supply; its number is five bits in one register and one in another. */
static inline void chip_select_converter(uint8_t channel)
{
    ADMUX = (uint8_t)(_BV(REFS0) | (channel & 7u));
    ADCSRB = (channel & 8u) ? _BV(MUX5) : 0;
}

/* Everything that could raise an interrupt, or hold a pin, as it is after a reset.  With USB off the host sees the board
 * go, and enumerates it anew when the stock core has begun USB again. */
static inline __attribute__((always_inline)) void chip_quieten(void)
{
    UDIEN = 0;
    UDCON = _BV(DETACH);
    USBCON = _BV(FRZCLK);
    UCSR1B = 0;
    TIMSK0 = 0;
    TIMSK1 = 0;
    TIMSK3 = 0;
    TIMSK4 = 0;
    PCICR = 0;
    EIMSK = 0;
    TWCR = 0;
    SPCR = 0;
    ADCSRA = 0;
    DDRB = 0;
    DDRC = 0;
    DDRD = 0;
    DDRE = 0;
    DDRF = 0;
}

#endif

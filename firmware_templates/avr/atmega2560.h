/* The ATmega2560 (Atmel 2549): its ports, its chain pins, its converter channels, and what a restart has to quieten. */
#ifndef ATMEGA2560_H
#define ATMEGA2560_H

#include <avr/io.h>
#include <stdint.h>

#include "bridge_link.h"

#define PORT_CHIP LINK_CHIP_ATMEGA2560 /* enum link_chip */
#define PORT_COUNT 11
#define EACH_PORT(each) \
    each(A), each(B), each(C), each(D), each(E), each(F), each(G), each(H), each(J), each(K), each(L)

/* The load line of the chain, on pin 53 (PB0).  Clock (pin 52) and data out (pin 51) are PB1 and PB2, data in (pin 50)
 * is PB3. */
#define CHAIN_LATCH_PORT PORTB
#define CHAIN_LATCH_DIRECTION DDRB
#define CHAIN_LATCH_BIT 0

/* What the stock core has begun and must be otherwise: nothing on this chip. */
static inline void chip_begin(void)
{
}

/* Channels 0 to 7 are port F, 8 to 15 port K: no pull-up, which would bend the reading, and no digital input. */
static inline void chip_free_converter(uint8_t channel)
{
    uint8_t mask = (uint8_t)_BV(channel & 7u);
    if (channel & 8u) {
        PORTK &= (uint8_t)~mask;
        DIDR2 |= mask;
    } else {
        PORTF &= (uint8_t)~mask;
        DIDR0 |= mask;
    }
}

/* Connects a channel against the supply. */
static inline void chip_select_converter(uint8_t channel)
{
    ADMUX = (uint8_t)(_BV(REFS0) | (channel & 7u));
    ADCSRB = (channel & 8u) ? _BV(MUX5) : 0;
}

/* Everything that could raise an interrupt, or hold a pin, as it is after a reset. */
static inline __attribute__((always_inline)) void chip_quieten(void)
{
    UCSR0B = 0;
    UCSR1B = 0;
    UCSR2B = 0;
    UCSR3B = 0;
    TIMSK0 = 0;
    TIMSK1 = 0;
    TIMSK2 = 0;
    TIMSK3 = 0;
    TIMSK4 = 0;
    TIMSK5 = 0;
    PCICR = 0;
    EIMSK = 0;
    TWCR = 0;
    SPCR = 0;
    ADCSRA = 0;
    DDRA = 0;
    DDRB = 0;
    DDRC = 0;
    DDRD = 0;
    DDRE = 0;
    DDRF = 0;
    DDRG = 0;
    DDRH = 0;
    DDRJ = 0;
    DDRK = 0;
    DDRL = 0;
}

#endif

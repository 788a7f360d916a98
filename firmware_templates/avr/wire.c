#include "wire.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "chip.h"

#if MIDI_WIRE

#define BAUD 31250UL
#define TRANSMIT (_BV(TXEN1) | _BV(RXEN1) | _BV(RXCIE1)) /* and receive: see wire_in.c */
#define TRANSMIT_FROM_RING (TRANSMIT | _BV(UDRIE1))

static volatile uint8_t wire_ring[WIRE_SLOTS];
volatile uint8_t wire_in;
volatile uint8_t wire_out;

void wire_begin(void)
{
    UBRR1 = (uint16_t)(F_CPU / 16UL / BAUD - 1UL);
    UCSR1A = 0;
    UCSR1C = _BV(UCSZ11) | _BV(UCSZ10);
    UCSR1B = TRANSMIT;
}

/* The interrupt is enabled exactly while the ring holds bytes: both change together, unseen by the interrupt. */
void wire_put(uint8_t byte)
{
    uint8_t in = wire_in;
    wire_ring[in & (WIRE_SLOTS - 1)] = byte;
    uint8_t interrupts = SREG;
    cli();
    wire_in = (uint8_t)(in + 1);
    UCSR1B = TRANSMIT_FROM_RING;
    SREG = interrupts;
}

ISR(USART1_UDRE_vect)
{
    uint8_t out = wire_out;
    UDR1 = wire_ring[out & (WIRE_SLOTS - 1)];
    wire_out = ++out;
    if (out == wire_in) {
        UCSR1B = TRANSMIT;
    }
}

#endif

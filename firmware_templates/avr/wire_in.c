#include "wire_in.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "chip.h"

#if MIDI_WIRE

volatile uint8_t wire_in_ring[WIRE_IN_SLOTS];
volatile uint8_t wire_in_put;
volatile uint8_t wire_in_taken;

/* A byte with a framing error is no byte: the flag stands beside it, and goes when it is read (data sheet). */
ISR(USART1_RX_vect)
{
    uint8_t broken = UCSR1A & _BV(FE1);
    uint8_t byte = UDR1;
    uint8_t put = wire_in_put;
    if (broken || (uint8_t)(put - wire_in_taken) == WIRE_IN_SLOTS) {
        return;
    }
    wire_in_ring[put & (WIRE_IN_SLOTS - 1)] = byte;
    wire_in_put = (uint8_t)(put + 1);
}

#endif

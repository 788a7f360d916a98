#include "bridge_link.h"

#include <avr/interrupt.h>

#include "chip.h"

#if LINK

#define LINK_BAUD 38400UL

volatile uint8_t link_ring[LINK_SLOTS];
volatile uint8_t link_in;
volatile uint8_t link_taken;

/* The divisor, rounded, makes 38,462 baud of 16 MHz: 0.2 % fast. */
void board_link_begin(void)
{
    UBRR0 = (uint16_t)((F_CPU + 8UL * LINK_BAUD) / (16UL * LINK_BAUD) - 1UL);
    UCSR0A = 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

/* A byte with a framing error, or that meets a full ring, is lost: the frame that it belongs to fails its check. */
ISR(USART0_RX_vect)
{
    uint8_t broken = UCSR0A & _BV(FE0);
    uint8_t byte = UDR0;
    uint8_t in = link_in;
    if (broken || (uint8_t)(in - link_taken) == LINK_SLOTS) {
        return;
    }
    link_ring[in & (LINK_SLOTS - 1)] = byte;
    link_in = (uint8_t)(in + 1);
}

#endif

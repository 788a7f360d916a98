#include "listening.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "listen.h"
#include "port_list.h"

#define STROBE_BITS ((uint8_t)((1u << LISTEN_STROBES) - 1u))

uint8_t listening_bits(uint8_t port)
{
    for (uint8_t i = 0; i != LISTEN_PORTS; i++) {
        if (flash_read_byte(&listen_table[i].port) == port) {
            return flash_read_byte(&listen_table[i].bits);
        }
    }
    return LISTEN_PORTS != 0 && port == LISTEN_STROBE_PORT ? STROBE_BITS : 0;
}

#if LISTEN_PORTS != 0

#if !defined(PCMSK2) || LISTEN_STROBE_PORT != 9
#error "Strobes lie on port K of an ATmega2560, each pin of which raises an interrupt."
#endif

void listening_begin(void)
{
    PCMSK2 = STROBE_BITS;
    PCIFR = _BV(PCIF2);
    PCICR = _BV(PCIE2);
}

ISR(PCINT2_vect)
{
    listen_strobe_changed();
}

#else

void listening_begin(void)
{
}

#endif

/* The board's port list: the index that the generated table uses for each port.
 *
 *     index        0 1 2 3 4 5 6 7 8 9 10
 *     ATmega2560   A B C D E F G H J K L
 *     ATmega32U4   B C D E F
 *
 * Each port is three registers in a row: PINx (input), DDRx (direction), PORTx (output or pull-up).
 */
#ifndef PORT_LIST_H
#define PORT_LIST_H

#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdint.h>

#include "chip.h"

extern const uint16_t port_list[PORT_COUNT]; /* in flash: address of PINx */

static inline volatile uint8_t *port_input(uint8_t port)
{
    return (volatile uint8_t *)pgm_read_word(&port_list[port]);
}

static inline volatile uint8_t *port_direction(uint8_t port)
{
    return port_input(port) + 1;
}

static inline volatile uint8_t *port_output(uint8_t port)
{
    return port_input(port) + 2;
}

#endif

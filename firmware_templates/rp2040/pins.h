/* The board's pins: GP0 to GP29, and the ports of eight that the generated table counts them in.
 *
 *     port   0 (A)     1 (B)      2 (C)       3 (D)
 *     pins   GP0-GP7   GP8-GP15   GP16-GP23   GP24-GP29
 */
#ifndef PINS_H
#define PINS_H

#include <stdint.h>

#define PIN_COUNT 30u

#define PIN_BUS_DATA 14u  /* serial bus 1 */
#define PIN_BUS_CLOCK 15u
#define PIN_CHAIN_DATA 16u /* synchronous serial port 0 */
#define PIN_CHAIN_LOAD 17u
#define PIN_CHAIN_CLOCK 18u
#define PIN_MIDI_OUT 20u /* serial port 1 */
#define PIN_MIDI_IN 21u
#define PIN_FIRST_CONVERTER 26u

/* Bits of a port as bits of all pins. */
static inline uint32_t pins_of(uint8_t port, uint8_t mask)
{
    return (uint32_t)mask << (8u * port);
}

/* Connects every pin that the console uses; all others become inputs pulled up, so that none floats. */
void pins_begin(void);

#endif

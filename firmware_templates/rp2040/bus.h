/* The two-wire bus, step by step as the core orders it, on a port that thinks in whole transfers.
 *
 * The port sends a device's address by itself, in front of the first byte, and has to be told with a byte whether it is
 * the last.  So the last byte ordered is held back until the next step shows what comes behind it.  What a device does
 * not acknowledge is therefore heard of one step later; the core does not mind.
 */
#ifndef BUS_H
#define BUS_H

#include <stdint.h>

void bus_begin(void);

void port_bus_start(void);
void port_bus_stop(void);
void port_bus_write(uint8_t byte);

/* Takes a byte from the device; `more` tells it that another will be taken. */
void port_bus_take(uint8_t more);

/* Gives both wires up, and clocks once whoever still holds the data wire. */
void port_bus_release(void);

uint8_t port_bus_is_done(void);

/* 1 when a stop that was ordered has been sent. */
uint8_t port_bus_is_free(void);

uint8_t port_bus_went_well(void);
uint8_t port_bus_byte(void);

#endif

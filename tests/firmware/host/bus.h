/* What a test sets and reads of the pretended two-wire bus. */
#ifndef BUS_H
#define BUS_H

#include <stdint.h>

#define HOST_EXPANDERS 8
#define HOST_EXPANDER_REGISTERS 22

struct host_expander {
    uint8_t levels[2]; /* at the lines of ports A and B */
    uint8_t absent;    /* not 0: does not answer */
    uint8_t pointer;
    uint8_t registers[HOST_EXPANDER_REGISTERS];
};

/* Every expander as after power-on, nothing connected. */
void host_bus_begin(void);

extern struct host_expander host_expanders[HOST_EXPANDERS]; /* by device address, from 0x20 */
extern uint32_t host_bus_stuck;    /* not 0: no step ever ends */
extern uint32_t host_bus_releases; /* times that the bus was given up */

#endif

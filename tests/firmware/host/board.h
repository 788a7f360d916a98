/* What a test sets and reads on the pretended board. */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

#define HOST_REGISTERS 256
#define HOST_PORTS 11
#define HOST_ROWS 8
#define HOST_CHANNELS 16
#define HOST_SENT 65536
#define HOST_BANKS 4
#define HOST_SELECT_LINES 4
#define HOST_INPUTS 16

/* A matrix row: its pin, the port of its columns, and the closed contacts. */
struct host_row {
    uint8_t port;
    uint8_t mask;
    uint8_t columns;
    uint8_t closed;
    uint8_t settle_us; /* a held key takes so long to pull its column low */
    uint8_t rise_us;   /* a column let go takes so long to be pulled up */
    uint8_t charge_us; /* and so long when it is driven high */
    uint8_t shorted;   /* crossings whose diode lets current flow both ways */
};

/* A bank of multiplexers: the port of its commons, the pins of its select lines, and the levels of its inputs. */
struct host_bank {
    uint8_t used;
    uint8_t common_port;
    uint8_t select_port[HOST_SELECT_LINES];
    uint8_t select_mask[HOST_SELECT_LINES];
    uint8_t levels[HOST_INPUTS]; /* one bit for each multiplexer */
    uint8_t settle_us;           /* the commons show the input before for this long */
    uint8_t shown;               /* input that the commons show */
};

/* Forgets everything, then starts the console. */
void host_begin(void);

/* One tick: the console's work, then the bytes that the wire sends in that time, the main loop running meanwhile. */
void host_tick(void);

extern uint8_t host_registers[HOST_REGISTERS]; /* levels at the registers' inputs */
extern uint8_t host_ports[HOST_PORTS];         /* levels at the ports */
extern struct host_row host_rows[HOST_ROWS];
extern struct host_bank host_banks[HOST_BANKS];
extern uint16_t host_counts[HOST_CHANNELS];
extern uint8_t host_sent[HOST_SENT]; /* bytes given to the wire, in order */
extern uint32_t host_sent_count;
extern uint32_t host_shifted;    /* bytes shifted since the last latch */
extern uint32_t host_wire_stuck; /* not 0: the wire takes no bytes away */

#endif

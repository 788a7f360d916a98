/* What a test sends to the pretended board's MIDI input. */
#ifndef WIRE_IN_H
#define WIRE_IN_H

#include <stdint.h>

#define HOST_WIRE_IN 8192 /* a power of two */

void host_wire_in_begin(void);

/* A byte comes in; returns 0 when there is no room for it. */
uint8_t host_wire_in_give(uint8_t byte);

/* Bytes that the firmware has not taken yet. */
uint32_t host_wire_in_waiting(void);

#endif

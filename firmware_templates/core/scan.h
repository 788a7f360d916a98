/* Reads every contact whose turn it is, and hands on what changed. */
#ifndef SCAN_H
#define SCAN_H

#include <stdint.h>

void scan_begin(void);

/* One tick: the chain, the matrices, the ports, the multiplexers, and what the bus has brought of the
 * expanders; a change is handled as soon as its lane has been read. */
void scan_tick(void);

/* Reads one lane now, beside the scan; not for lanes of the chain, which come one behind the other. */
uint8_t scan_read_lane(uint8_t source, uint8_t where, uint8_t place);

#endif

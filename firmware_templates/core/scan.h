/* Reads every contact whose turn it is, and hands on what changed. */
#ifndef SCAN_H
#define SCAN_H

#include <stdint.h>

void scan_begin(void);

/* One tick: the chain, the matrices, the ports, the multiplexers, and what the bus has brought of the
 * expanders; a change is handled as soon as its lane has been read. */
void scan_tick(void);

#endif

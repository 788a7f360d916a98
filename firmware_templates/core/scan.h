/* Reads every contact whose turn it is, and hands on what changed. */
#ifndef SCAN_H
#define SCAN_H

#include <stdint.h>

void scan_begin(void);

/* One tick: the chain, then the matrices, then the ports; a change is handled as soon as its lane has been read. */
void scan_tick(void);

#endif

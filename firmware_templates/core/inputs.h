/* Levels of lanes read beside the scan, for whoever wants to see what the debounce does not show. */
#ifndef INPUTS_H
#define INPUTS_H

#include <stdint.h>

/* Reads `count` lanes from `first` on, all of which there must be: level n goes to levels[n * step].  Takes as long as
 * a scan of these lanes, and of the registers before them on the chain. */
void inputs_read(uint8_t first, uint8_t count, uint8_t *levels, uint8_t step);

#endif

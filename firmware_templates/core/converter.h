/* Shoes on converter channels, read in turn without ever waiting for a conversion. */
#ifndef CONVERTER_H
#define CONVERTER_H

void converter_begin(void);

/* Picks up a finished conversion and starts the next. */
void converter_tick(void);

#endif

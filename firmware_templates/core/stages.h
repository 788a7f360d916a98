/* Stepped shoes and rollers: a value from contacts that close one after another. */
#ifndef STAGES_H
#define STAGES_H

#include <stdint.h>

void stages_begin(void);

/* A stage of the shoe has changed: its stages are gone through again. */
void stages_changed(uint8_t shoe);

/* Reads a few stages of one shoe whose stages have changed. */
void stages_tick(void);

#endif

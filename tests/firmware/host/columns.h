/* The columns of the pretended board's matrices: each is a capacitor that something charges or discharges. */
#ifndef HOST_COLUMNS_H
#define HOST_COLUMNS_H

#include <stdint.h>

/* Every column charged, every row and column as a controller leaves them at a reset. */
void host_columns_begin(void);

/* Lets time pass. */
void host_columns_wait(uint8_t us);

/* Lets much time pass, no row being low. */
void host_columns_rest(void);

/* A pin that the controller has set as an output: a row that is always driven may be one. */
void host_columns_output(uint8_t port, uint8_t mask, uint8_t high);

/* The bits of a port that stand for low columns. */
uint8_t host_columns_low(uint8_t port);

/* Reads of a column between the levels; and moments at which a low output met a high one: a row and a column, or two
 * rows through a shorted diode. */
extern uint32_t host_columns_between;
extern uint32_t host_columns_fights;

#endif

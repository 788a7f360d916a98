/* A contact matrix of the board's own pins, read row by row. */
#ifndef MATRIX_H
#define MATRIX_H

#include "table_checks.h"

/* Pulls a row low, waits until the columns have settled, reads them, and gives the row up again; where the table asks
 * for it, the columns are then charged for a moment, so that the next row need not wait until their pull-ups have
 * raised what this one held low. */
uint8_t matrix_read_row(const struct matrix *matrix, uint8_t row);

#endif

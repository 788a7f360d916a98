/* Banks of multiplexers: one input of each selected, and all their commons read as one port. */
#ifndef BANKS_H
#define BANKS_H

#include "table_checks.h"

/* Selects an input of a bank, waits until the commons have settled, and reads them.
 *
 * The select lines move one after the other, so that other inputs are joined to the commons on the way; and a common
 * keeps the level of the input before for a while.  Both are over when the wait ends: the parts break before they make,
 * so nothing is left of the input before but the charge of the common, and the first reading is already good. */
uint8_t bank_read(const struct bank *bank, uint8_t input);

#endif

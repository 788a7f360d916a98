/* What differs between the chips of this folder, from the header of the one that is compiled for. */
#ifndef CHIP_H
#define CHIP_H

#include <avr/io.h>

#include "table_checks.h"

#if defined(__AVR_ATmega2560__)
#include "atmega2560.h"
#elif defined(__AVR_ATmega32U4__)
#include "atmega32u4.h"
#else
#error "This firmware is for the ATmega2560 and the ATmega32U4: choose the board that the sketch was written for."
#endif

#endif

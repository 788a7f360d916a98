/* Where constant tables live.
 *
 * On AVR they stay in flash and are read with the 16-bit load, so the linker must keep them in the first 64 KiB: it
 * places such data right behind the vectors, and the largest table that a lane number allows is 12 KiB.  Elsewhere
 * flash reads like any memory.
 */
#ifndef FLASH_H
#define FLASH_H

#include <stdint.h>

#ifdef __AVR__

#include <avr/pgmspace.h>
#define TABLE_IN_FLASH PROGMEM
#define flash_read_byte(address) pgm_read_byte(address)
#define flash_read_word(address) pgm_read_word(address)

#else

#define TABLE_IN_FLASH
#define flash_read_byte(address) (*(const uint8_t *)(address))
#define flash_read_word(address) (*(const uint16_t *)(address))

#endif

#endif

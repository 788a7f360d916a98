/* Bytes that stay without power, in the flash sector that the board's Arduino core sets aside for them.
 *
 * The flash forgets whole sectors of 4 KiB only, and nothing can run from it meanwhile: a write goes into a copy in
 * memory, and port_store_commit() puts all of it into the flash at once, with the interrupts off.  That takes about
 * 50 ms and 400 ms at worst (common for such flash, from memory); contacts are not read and MIDI stands still, so it
 * is for moments when nobody plays.  A sector bears 100,000 of them (from memory).
 */
#ifndef FLASH_STORE_H
#define FLASH_STORE_H

#include <stdint.h>

#define PORT_STORE_SIZE 512u

#ifdef __cplusplus
extern "C" {
#endif

void flash_store_begin(void);

uint8_t port_store_read(uint16_t at);

/* 1 at any time: a write is into memory. */
uint8_t port_store_is_ready(void);

void port_store_write(uint16_t at, uint8_t byte);
void port_store_commit(void);

#ifdef __cplusplus
}
#endif

#endif

/* CRC-16/IBM-3740: polynomial 0x1021, most significant bit first, start 0xFFFF, nothing inverted at the end. */
#ifndef CRC16_H
#define CRC16_H

#include <stdint.h>

#define CRC16_START 0xFFFFu

/* The check with one more byte taken in. */
uint16_t crc16_step(uint16_t crc, uint8_t byte);

#endif

#include "crc16.h"

/* The polynomial has four terms only, so that a byte's eight steps can be done side by side: a few shifts, no table.
 * Written in bytes, which an 8-bit processor shifts several times as fast as a number of 16 bits. */
uint16_t crc16_step(uint16_t crc, uint8_t byte)
{
    uint8_t x = (uint8_t)(crc >> 8) ^ byte;
    x ^= (uint8_t)(x >> 4);
    uint8_t high = (uint8_t)((uint8_t)crc ^ (uint8_t)(x << 4) ^ (x >> 3));
    uint8_t low = (uint8_t)(x ^ (uint8_t)(x << 5));
    return (uint16_t)((uint16_t)(high << 8) | low);
}

/* Numbers in a payload: little-endian, one behind the other. */
#ifndef LINK_BYTES_H
#define LINK_BYTES_H

#include <stdint.h>

static inline uint16_t link_get_16(const uint8_t *at)
{
    return (uint16_t)(at[0] | (uint16_t)(at[1] << 8));
}

static inline uint32_t link_get_32(const uint8_t *at)
{
    return link_get_16(at) | (uint32_t)link_get_16(at + 2) << 16;
}

/* Each writes a number and returns the place behind it. */
static inline uint8_t *link_put_8(uint8_t *at, uint8_t value)
{
    *at = value;
    return at + 1;
}

static inline uint8_t *link_put_16(uint8_t *at, uint16_t value)
{
    return link_put_8(link_put_8(at, (uint8_t)value), (uint8_t)(value >> 8));
}

static inline uint8_t *link_put_32(uint8_t *at, uint32_t value)
{
    return link_put_16(link_put_16(at, (uint16_t)value), (uint16_t)(value >> 16));
}

/* Also for a limit of 0, of which the compiler would say that nothing is ever below it. */
static inline uint8_t link_is_below(uint16_t value, uint16_t limit)
{
    return value < limit;
}

#endif

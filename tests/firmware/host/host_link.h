/* The other end of the pretended board's link. */
#ifndef HOST_LINK_H
#define HOST_LINK_H

#include <stdint.h>

#define HOST_LINK 4096 /* bytes under way in either direction; a power of two */

void host_link_begin(void);

/* Sends bytes to the board; returns how many there was room for. */
uint32_t host_link_give(const uint8_t *bytes, uint32_t count);

/* Takes what the board has sent, at most `most` bytes; returns how many. */
uint32_t host_link_take(uint8_t *bytes, uint32_t most);

/* Bytes that the board has not taken yet. */
uint32_t host_link_waiting(void);

extern uint32_t host_link_stuck; /* not 0: nobody takes what the board wants to send */

#endif

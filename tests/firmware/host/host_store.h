/* The pretended board's non-volatile store: it outlasts every restart but host_store_begin. */
#ifndef HOST_STORE_H
#define HOST_STORE_H

#include <stdint.h>

#define HOST_STORE_SIZE 1024
#define HOST_STORE_NEVER 0xFFFFFFFFu

/* As it leaves the factory: all bytes 0xFF. */
void host_store_begin(void);

extern uint8_t host_store[HOST_STORE_SIZE];
extern uint32_t host_store_wear[HOST_STORE_SIZE]; /* writes of each byte */
extern uint32_t host_store_writes;                /* of all bytes together */
extern uint32_t host_store_commits;
extern uint32_t host_store_polls;                 /* a write keeps the store busy for so many polls */
extern uint32_t host_store_fails_after; /* so many further writes succeed, all others change nothing */

#endif

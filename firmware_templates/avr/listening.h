/* The pins that listen to a keyboard which the organ scans, and the interrupt of its strobes. */
#ifndef LISTENING_H
#define LISTENING_H

#include <stdint.h>

/* Bits of a port that are listened to: they are inputs without a pull-up, which would feed the organ's lines. */
uint8_t listening_bits(uint8_t port);

/* Allows the interrupt; behind listen_begin(). */
void listening_begin(void);

#endif

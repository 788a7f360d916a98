/* A contact's own message, looked up in message_table. */
#ifndef MESSAGES_H
#define MESSAGES_H

#include <stdint.h>

/* Sends what a contact says when it goes on (`on` not 0) or off, if anything. */
void message_send(uint8_t lane, uint8_t bit, uint8_t on);

/* The status with which a contact goes on; 0 when it says nothing then. */
uint8_t message_status(uint8_t lane, uint8_t bit);

/* 1 when `bytes` are what a contact says when it goes on or off; the third is 0 in a message of two. */
uint8_t message_is(uint8_t lane, uint8_t bit, uint8_t on, const uint8_t bytes[3]);

#endif

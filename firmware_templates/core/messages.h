/* A contact's own message, looked up in message_table. */
#ifndef MESSAGES_H
#define MESSAGES_H

#include <stdint.h>

/* Sends what a contact says when it goes on (`on` not 0) or off, if anything. */
void message_send(uint8_t lane, uint8_t bit, uint8_t on);

#endif

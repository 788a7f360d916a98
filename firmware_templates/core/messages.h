/* A contact's own message, looked up in message_table. */
#ifndef MESSAGES_H
#define MESSAGES_H

#include <stdint.h>

/* Sends what the contact of this row (lane * 8 + bit) says when it goes on (`on` not 0) or off, if anything. */
void message_send(uint16_t row, uint8_t on);

#endif

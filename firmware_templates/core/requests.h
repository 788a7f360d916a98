/* What messages that come in can ask for; each returns 0 when a message asks for nothing of ours.
 *
 *     Bn 78 xx, Bn 7B 00   All Sound Off, All Notes Off on a channel of ours: see silence.h
 *     F0 7E 7F 06 01 F7    Identity Request: see identity.h
 *     F0 7D 02 F7          stops and shoes are sent again
 *     a stop's own message, where stops are listened to: see stop_orders.h
 */
#ifndef REQUESTS_H
#define REQUESTS_H

#include <stdint.h>

/* A channel message; `from` is the outlet whose other direction it came by. */
uint8_t request_channel(uint8_t status, uint8_t first, uint8_t second, uint8_t from);

/* A system exclusive message without its first and last byte. */
uint8_t request_exclusive(const uint8_t *data, uint8_t count, uint8_t from);

#endif

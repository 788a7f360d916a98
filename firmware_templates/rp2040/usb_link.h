/* The board link on the USB serial port (CDC) of the board's Arduino core.
 *
 * A host that has not opened the port, or does not fetch what waits, gets nothing: there is no room then, so whoever
 * answers it waits, and nothing else does.
 */
#ifndef USB_LINK_H
#define USB_LINK_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

void usb_link_begin(void);

/* 1 if a byte came. */
uint8_t port_link_take(uint8_t *byte);

/* Bytes that can be given now without waiting. */
uint8_t port_link_room(void);

/* Gives a byte, for which there must be room. */
void port_link_send(uint8_t byte);

#ifdef __cplusplus
}
#endif

#endif

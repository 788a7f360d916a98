/* The board link over the USB serial port (CDC) that the stock core offers beside MIDI.
 *
 * While a host does not take what it has asked for, there is no room, and nothing waits for it: an answer that was given
 * stays in the end point until the host takes it or configures the board anew, and the next one is not given before.
 */
#ifndef USB_LINK_H
#define USB_LINK_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

static inline void board_link_begin(void)
{
}

/* Behind each tick's work: lets go what has been given. */
void board_link_tick(void);

/* Takes a byte that came; returns 0 when there is none. */
uint8_t port_link_take(uint8_t *byte);

/* Bytes that can be given now. */
uint8_t port_link_room(void);

/* Gives a byte, for which there must be room. */
void port_link_send(uint8_t byte);

#ifdef __cplusplus
}
#endif

#endif

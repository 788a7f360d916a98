/* USB MIDI on the stock core's own USB device: an audio control and a MIDI streaming interface with one cable each way
 * (Universal Serial Bus Device Class Definition for MIDI Devices, Release 1.0).
 *
 * The core's own sending waits up to 250 ms for a host that takes nothing, so the end points are served by register
 * here, and only as far as there is room: each holds two banks of 64 bytes.
 */
#ifndef USB_MIDI_H
#define USB_MIDI_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* 1 while a host has configured the board and the bus is not suspended. */
uint8_t port_usb_present(void);

/* Packets that can be given now; 0 while the host is away or takes nothing. */
uint8_t port_usb_room(void);

/* Gives a packet, for which there must be room. */
void port_usb_send(const uint8_t packet[4]);

/* Lets go what has been given, without filling the bank. */
void port_usb_flush(void);

/* Takes a packet that has come in; returns 0 when there is none. */
uint8_t port_usb_take(uint8_t packet[4]);

#ifdef __cplusplus
}
#endif

#endif

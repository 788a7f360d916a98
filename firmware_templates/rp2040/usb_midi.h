/* USB MIDI, through the USB library of the board's Arduino core: packets of four bytes, cable 0. */
#ifndef USB_MIDI_H
#define USB_MIDI_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

void usb_midi_begin(void);

/* Packets that can be taken now without waiting; 0 while the host is away or does not fetch what waits. */
uint8_t port_usb_room(void);

/* Takes a packet, for which there must be room. */
void port_usb_send(const uint8_t packet[4]);

/* Ends a burst; never waits. */
void port_usb_flush(void);

/* 1 if a packet came in. */
uint8_t port_usb_take(uint8_t packet[4]);

/* 1 while a host has configured us and has not suspended us. */
uint8_t port_usb_present(void);

#ifdef __cplusplus
}
#endif

#endif

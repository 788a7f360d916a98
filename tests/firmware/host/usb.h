/* What a test sets and reads of the pretended USB interface. */
#ifndef USB_H
#define USB_H

#include <stdint.h>

#define HOST_USB_BUFFER 16 /* packets in a bulk transfer of 64 bytes (USB 2.0, clause 5.8.3) */
#define HOST_USB_HEARD 16384
#define HOST_USB_SAID 1024

/* Unplugged, nothing in the buffers, a host that would take everything. */
void host_usb_begin(void);

/* A tick passes: once in a millisecond a host takes the packets that were flushed, or that fill the buffer. */
void host_usb_tick(void);

/* The host sends a packet; returns 0 when it must wait. */
uint8_t host_usb_give(const uint8_t packet[4]);

extern uint32_t host_usb_plugged; /* not 0: a host has configured the interface and does not sleep */
extern uint32_t host_usb_stuck;   /* not 0: it takes no packets away */
extern uint8_t host_usb_heard[HOST_USB_HEARD][4]; /* packets that it has taken, in order */
extern uint32_t host_usb_heard_count;

#endif

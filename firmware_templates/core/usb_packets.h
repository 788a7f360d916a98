/* USB-MIDI event packets: four bytes, of which the first holds the cable (0 here) and a code index number that says what
 * the others are (Universal Serial Bus Device Class Definition for MIDI Devices, Release 1.0, clause 4). */
#ifndef USB_PACKETS_H
#define USB_PACKETS_H

#include <stdint.h>

#define USB_PACKET_BYTES 4

/* Code index numbers, table 4-1. */
#define USB_CODE_EXCLUSIVE 4u    /* a system exclusive message begins or goes on */
#define USB_CODE_LAST_OF_ONE 5u /* it ends with one byte; 6 with two, 7 with three; 5 also one byte of system common */
#define USB_CODE_CHANNEL 8u     /* from here on the upper half of a channel message's status */
#define USB_CODE_SINGLE 15u     /* one byte without a meaning of its own, such as a real-time byte */

/* Number of MIDI bytes in a packet with this first byte; 0 for a reserved code, and for another cable than ours. */
uint8_t usb_packet_size(uint8_t head);

/* Gives USB a channel message; the second data byte of a short one is not looked at. */
void usb_give_channel(uint8_t status, uint8_t first, uint8_t second);

/* Gives USB one to three bytes of a system exclusive message; the last of all is its end. */
void usb_give_exclusive(const uint8_t *bytes, uint8_t count);

/* 1 when a channel message was given since this was last set to 0, or the host has left: either cuts a system exclusive
 * message short. */
extern uint8_t usb_channel_given;

#endif

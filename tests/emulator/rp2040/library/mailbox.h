/* Where the stand-in for the Arduino core meets the emulator: registers of a pretended computer at the other end of the
 * USB cable, which no chip has.
 */
#ifndef MAILBOX_H
#define MAILBOX_H

#include <stdint.h>

#define MAILBOX(number) (*reinterpret_cast<volatile uint32_t *>(0x50400000u + 4u * (number)))

#define MAILBOX_STATE MAILBOX(0)         /* bit 0 configured, 1 suspended, 2 serial port open */
#define MAILBOX_PACKET_ROOM MAILBOX(1)   /* packets that the library's own store takes */
#define MAILBOX_PACKET MAILBOX(2)        /* write: a packet to the computer; read: one from it */
#define MAILBOX_PACKETS_HERE MAILBOX(3)  /* packets from the computer */
#define MAILBOX_SERIAL_ROOM MAILBOX(4)   /* bytes that the serial port takes */
#define MAILBOX_SERIAL MAILBOX(5)        /* write: a byte to the computer; read: one from it */
#define MAILBOX_SERIAL_HERE MAILBOX(6)   /* bytes from the computer */
#define MAILBOX_WAITED MAILBOX(7)        /* write: the library would have waited for room */
#define MAILBOX_COMMITTED MAILBOX(8)     /* write: the store went into the flash */

#endif

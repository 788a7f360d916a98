/* Where messages go: out by the wire (DIN), by USB, or by both; chosen when compiling, by MIDI_WIRE and MIDI_USB.
 *
 * With the wire alone nothing here takes up a cycle.  By USB alone, messages wait in the rings while the host is away or
 * takes nothing.  With both, the wire sets the pace and is never kept waiting: when USB has no room for a message, the
 * host counts as away from then on, and no packets are made for it until it is back.
 *
 * A host is back when it has taken packets for HOST_BACK_US, and away when it is not there, or has taken nothing for
 * HOST_AWAY_US, or a message has found no room beside the wire.  What it missed is made good when it comes back:
 * by USB alone everything begins as at power-on; beside the wire, which has missed nothing, the host alone is sent
 * silence and then the state, and its share of each message begins when that silence has been sent.
 */
#ifndef OUTLETS_H
#define OUTLETS_H

#include "port.h"
#include "table_checks.h"

#define OUTLET_WIRE 1u
#define OUTLET_USB 2u
#define OUTLETS_ORDINARY 0u /* to `outlets_aim`: those that every message goes to */

#define USB_PACKETS_AT_ONCE 2u /* of the longest message that is given at once */

#define HOST_BACK_US 100000ul
#define HOST_AWAY_US 1000000ul

extern uint8_t outlets_to;           /* outlets of the message that is being sent; used where there are both */
extern uint8_t outlets_heard;        /* outlets that ordinary messages go to */
extern uint8_t outlets_flush_due;    /* 1 when packets were given since the last flush */
extern uint16_t outlets_usb_refused; /* times that the host counted as away though it was there; at most 65535 */

void outlets_begin(void);

#if MIDI_USB

/* Follows the host's coming and going; ends the burst of packets. */
void outlets_tick(void);

/* 1 when USB takes any message now. */
uint8_t outlets_usb_ready(void);

/* 1 while packets are made for the host: it has come, and takes them. */
uint8_t outlets_usb_here(void);

/* From now on the host is sent every message; its silence has been sent.  To be called between two messages. */
void outlets_usb_open(void);

/* A message found no room: the host counts as away. */
void outlets_usb_refuse(void);

/* Nothing more follows for now. */
static inline void outlets_flush(void)
{
    if (outlets_flush_due) {
        outlets_flush_due = 0;
        port_usb_flush();
    }
}

#else

static inline void outlets_tick(void)
{
}

static inline uint8_t outlets_usb_ready(void)
{
    return 0;
}

static inline uint8_t outlets_usb_here(void)
{
    return 0;
}

static inline void outlets_usb_open(void)
{
}

static inline void outlets_flush(void)
{
}

#endif

/* The messages that follow go to the outlets `only`, or to the ordinary ones. */
static inline void outlets_aim(uint8_t only)
{
    if (MIDI_WIRE && MIDI_USB) {
        outlets_to = only != OUTLETS_ORDINARY ? only : outlets_heard;
    }
}

/* Whether the message that is being sent goes out by the wire, and by USB. */
static inline uint8_t outlets_by_wire(void)
{
    return MIDI_WIRE && (!MIDI_USB || (outlets_to & OUTLET_WIRE));
}

static inline uint8_t outlets_by_usb(void)
{
    return MIDI_USB && (!MIDI_WIRE || (outlets_to & OUTLET_USB));
}

/* 1 when a message may be sent.  By the wire: when it has at most one byte left in its ring.  It then still has at least
 * a byte time of work in its own registers, so that a new message keeps it from falling idle during a scan. */
static inline __attribute__((always_inline)) uint8_t outlets_ready(void)
{
#if MIDI_WIRE
    return port_wire_waiting() <= 1;
#else
    return outlets_usb_ready();
#endif
}

/* 1 when a message to `only` may be sent, the outlets being ready. */
static inline uint8_t outlets_take(uint8_t only)
{
    return only != OUTLET_USB || outlets_usb_ready();
}

/* 0 while a message to `only` waits for a host that is away; the pump starts again when one comes. */
static inline uint8_t outlets_reach(uint8_t only)
{
    return only != OUTLET_USB || outlets_usb_here();
}

#endif

#include "outlets.h"

#include "report.h"
#include "usb_packets.h"

uint8_t outlets_to;
uint8_t outlets_heard;
uint8_t outlets_flush_due;
uint16_t outlets_usb_refused;

#if MIDI_USB

#define BACK_TICKS (HOST_BACK_US / TICK_US)
#define AWAY_TICKS (HOST_AWAY_US / TICK_US)

static uint8_t host_is_here;     /* 1 while packets are made for the host */
static uint16_t contrary_ticks; /* for how long it has behaved as if it were not so */

void outlets_begin(void)
{
    outlets_heard = MIDI_WIRE ? OUTLET_WIRE : OUTLET_USB;
    outlets_to = outlets_heard;
    outlets_flush_due = 0;
    outlets_usb_refused = 0;
    host_is_here = 0;
    contrary_ticks = 0;
}

static uint8_t host_takes(void)
{
    return port_usb_present() && port_usb_room() >= USB_PACKETS_AT_ONCE;
}

uint8_t outlets_usb_ready(void)
{
    return host_is_here && port_usb_room() >= USB_PACKETS_AT_ONCE;
}

uint8_t outlets_usb_here(void)
{
    return host_is_here;
}

static void host_came(void)
{
    host_is_here = 1;
    contrary_ticks = 0;
    report_to_host();
}

static void host_left(void)
{
    host_is_here = 0;
    contrary_ticks = 0;
    usb_channel_given = 1; /* whoever comes next has not heard the beginning of a message that is not over */
    if (MIDI_WIRE) {
        outlets_heard = OUTLET_WIRE;
        outlets_to &= (uint8_t)~OUTLET_USB;
        report_forget_host();
    }
}

void outlets_usb_open(void)
{
    outlets_heard |= OUTLET_USB;
    outlets_to = outlets_heard;
}

void outlets_usb_refuse(void)
{
    if (outlets_usb_refused != UINT16_MAX) {
        outlets_usb_refused++;
    }
    host_left();
}

static void host_watch_here(void)
{
    if (!port_usb_present()) {
        host_left();
    } else if (host_takes()) {
        contrary_ticks = 0;
    } else if (++contrary_ticks >= AWAY_TICKS) {
        outlets_usb_refuse();
    }
}

static void host_watch_away(void)
{
    if (!host_takes()) {
        contrary_ticks = 0;
    } else if (++contrary_ticks >= BACK_TICKS) {
        host_came();
    }
}

void outlets_tick(void)
{
    if (host_is_here) {
        host_watch_here();
    } else {
        host_watch_away();
    }
    outlets_flush();
}

#else

void outlets_begin(void)
{
    outlets_heard = OUTLET_WIRE;
    outlets_to = OUTLET_WIRE;
    outlets_flush_due = 0;
    outlets_usb_refused = 0;
}

#endif

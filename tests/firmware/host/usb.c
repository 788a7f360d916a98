#include "usb.h"

#include <assert.h>
#include <string.h>

#include "port.h"
#include "table_checks.h"

uint32_t host_usb_plugged;
uint32_t host_usb_stuck;
uint8_t host_usb_heard[HOST_USB_HEARD][4];
uint32_t host_usb_heard_count;

#define FRAME_US 1000 /* of full speed (USB 2.0, clause 5.3.3) */

static uint32_t frame_us;
static uint8_t buffer[HOST_USB_BUFFER][4];
static uint8_t buffered;
static uint8_t flushed;
static uint8_t said[HOST_USB_SAID][4];
static uint32_t said_put;
static uint32_t said_taken;

void host_usb_begin(void)
{
    host_usb_plugged = 0;
    host_usb_stuck = 0;
    host_usb_heard_count = 0;
    frame_us = 0;
    buffered = 0;
    flushed = 0;
    said_put = 0;
    said_taken = 0;
}

void host_usb_tick(void)
{
    if (!host_usb_plugged) {
        buffered = 0; /* whoever is unplugged forgets what it had not sent */
        flushed = 0;
    }
    frame_us += TICK_US;
    if (frame_us < FRAME_US) {
        return;
    }
    frame_us = 0;
    if (host_usb_stuck || (!flushed && buffered != HOST_USB_BUFFER)) {
        return;
    }
    assert(host_usb_heard_count + buffered <= HOST_USB_HEARD);
    memcpy(host_usb_heard[host_usb_heard_count], buffer, sizeof buffer[0] * buffered);
    host_usb_heard_count += buffered;
    buffered = 0;
    flushed = 0;
}

uint8_t host_usb_give(const uint8_t packet[4])
{
    if (said_put - said_taken == HOST_USB_SAID) {
        return 0;
    }
    memcpy(said[said_put++ % HOST_USB_SAID], packet, sizeof said[0]);
    return 1;
}

uint8_t port_usb_present(void)
{
    return host_usb_plugged != 0;
}

uint8_t port_usb_room(void)
{
    return host_usb_plugged ? (uint8_t)(HOST_USB_BUFFER - buffered) : 0;
}

void port_usb_send(const uint8_t packet[4])
{
    assert(port_usb_room() != 0);
    memcpy(buffer[buffered++], packet, sizeof buffer[0]);
}

void port_usb_flush(void)
{
    flushed = buffered != 0;
}

uint8_t port_usb_take(uint8_t packet[4])
{
    if (!host_usb_plugged || said_put == said_taken) {
        return 0;
    }
    memcpy(packet, said[said_taken++ % HOST_USB_SAID], sizeof said[0]);
    return 1;
}

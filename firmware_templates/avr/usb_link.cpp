#include "usb_link.h"

#include <USBAPI.h>

#include "chip.h"
#include "usb_endpoint.h"

#if LINK

/* The bank is never filled to the brim: a host goes on waiting behind a full packet (USB 2.0, 5.8.3). */
static const uint8_t LINK_BANK_BYTES = ENDPOINT_BYTES - 1;

static uint8_t given; /* 1 when something waits to be let go */

void board_link_tick(void)
{
    if (!given) {
        return;
    }
    uint8_t before = endpoint_enter(CDC_TX);
    endpoint_flush();
    endpoint_leave(before);
    given = 0;
}

uint8_t port_link_take(uint8_t *byte)
{
    if (!USBDevice.configured()) {
        return 0;
    }
    uint8_t before = endpoint_enter(CDC_RX);
    uint8_t taken = 0;
    if (UEINTX & _BV(RXOUTI)) {
        taken = UEBCLX != 0;
        if (taken) {
            *byte = UEDATX;
        }
        if (UEBCLX == 0) {
            UEINTX = ENDPOINT_BANK_READ;
        }
    }
    endpoint_leave(before);
    return taken;
}

uint8_t port_link_room(void)
{
    if (!USBDevice.configured() || USBDevice.isSuspended()) {
        return 0;
    }
    uint8_t before = endpoint_enter(CDC_TX);
    uint8_t room = endpoint_room();
    endpoint_leave(before);
    return room > ENDPOINT_BYTES - LINK_BANK_BYTES ? static_cast<uint8_t>(room - (ENDPOINT_BYTES - LINK_BANK_BYTES)) : 0;
}

void port_link_send(uint8_t byte)
{
    uint8_t before = endpoint_enter(CDC_TX);
    UEDATX = byte;
    endpoint_leave(before);
    given = 1;
}

#endif

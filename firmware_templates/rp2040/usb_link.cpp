#include "table_checks.h"

#if LINK

#include <Arduino.h>
#ifdef USE_TINYUSB
#include <Adafruit_TinyUSB.h>
#endif

#include "usb_link.h"

void usb_link_begin(void)
{
    Serial.begin(115200); /* a rate that USB does not use */
}

uint8_t port_link_take(uint8_t *byte)
{
    if (Serial.available() <= 0) {
        return 0;
    }
    *byte = static_cast<uint8_t>(Serial.read());
    return 1;
}

/* The library's own write waits for room while a host has the port open. */
uint8_t port_link_room(void)
{
    int room = Serial ? Serial.availableForWrite() : 0;
    return room < 0 ? 0 : static_cast<uint8_t>(room > 255 ? 255 : room);
}

void port_link_send(uint8_t byte)
{
    Serial.write(byte);
}

#endif

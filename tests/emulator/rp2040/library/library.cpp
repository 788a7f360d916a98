/* What the stand-ins do: everything goes to and comes from the emulator's mailbox. */
#include "Adafruit_TinyUSB.h"
#include "Arduino.h"
#include "EEPROM.h"
#include "mailbox.h"

#define CONFIGURED 1u
#define SUSPENDED 2u
#define SERIAL_OPEN 4u
#define STORE_BYTES 512

UsbSerial Serial;
Adafruit_USBD_Device TinyUSBDevice;
EEPROMClass EEPROM;

static uint8_t store[STORE_BYTES];

bool Adafruit_USBD_Device::mounted(void)
{
    return (MAILBOX_STATE & CONFIGURED) != 0;
}

bool Adafruit_USBD_Device::suspended(void)
{
    return (MAILBOX_STATE & SUSPENDED) != 0;
}

Adafruit_USBD_MIDI::Adafruit_USBD_MIDI(uint8_t cables) : cables_(cables), begun_(false)
{
}

bool Adafruit_USBD_MIDI::begin(void)
{
    begun_ = cables_ == 1;
    return begun_;
}

bool Adafruit_USBD_MIDI::writePacket(const uint8_t packet[4])
{
    if (!begun_ || MAILBOX_PACKET_ROOM == 0) {
        return false;
    }
    MAILBOX_PACKET = packet[0] | static_cast<uint32_t>(packet[1]) << 8 | static_cast<uint32_t>(packet[2]) << 16 |
                     static_cast<uint32_t>(packet[3]) << 24;
    return true;
}

bool Adafruit_USBD_MIDI::readPacket(uint8_t packet[4])
{
    if (!begun_ || MAILBOX_PACKETS_HERE == 0) {
        return false;
    }
    uint32_t word = MAILBOX_PACKET;
    for (uint8_t i = 0; i != 4; i++) {
        packet[i] = static_cast<uint8_t>(word >> (8 * i));
    }
    return true;
}

void UsbSerial::begin(uint32_t baud)
{
    (void)baud;
}

int UsbSerial::available(void)
{
    return static_cast<int>(MAILBOX_SERIAL_HERE);
}

int UsbSerial::read(void)
{
    return MAILBOX_SERIAL_HERE == 0 ? -1 : static_cast<int>(MAILBOX_SERIAL);
}

int UsbSerial::availableForWrite(void)
{
    return static_cast<int>(MAILBOX_SERIAL_ROOM);
}

size_t UsbSerial::write(uint8_t byte)
{
    if (MAILBOX_SERIAL_ROOM == 0) {
        MAILBOX_WAITED = 1;
        return 0;
    }
    MAILBOX_SERIAL = byte;
    return 1;
}

UsbSerial::operator bool(void)
{
    return (MAILBOX_STATE & SERIAL_OPEN) != 0;
}

void EEPROMClass::begin(size_t size)
{
    (void)size;
}

uint8_t EEPROMClass::read(int at)
{
    return at >= 0 && at < STORE_BYTES ? store[at] : 0;
}

void EEPROMClass::write(int at, uint8_t byte)
{
    if (at >= 0 && at < STORE_BYTES) {
        store[at] = byte;
    }
}

bool EEPROMClass::commit(void)
{
    MAILBOX_COMMITTED = 1;
    return true;
}

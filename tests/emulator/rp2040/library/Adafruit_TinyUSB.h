/* Stands in for the USB library: what the firmware uses of it, by the names and types of its public headers. */
#ifndef ADAFRUIT_TINYUSB_H
#define ADAFRUIT_TINYUSB_H

#include <stdint.h>

class Adafruit_USBD_Device
{
  public:
    bool mounted(void);
    bool suspended(void);
};

class Adafruit_USBD_MIDI
{
  public:
    Adafruit_USBD_MIDI(uint8_t cables = 1);
    bool begin(void);
    bool writePacket(const uint8_t packet[4]); /* false when its store is full */
    bool readPacket(uint8_t packet[4]);

  private:
    uint8_t cables_;
    bool begun_;
};

extern Adafruit_USBD_Device TinyUSBDevice;

#endif

/* Stands in for the Arduino core of the RP2040: the serial port on USB, as far as the firmware uses it.  Its names and
 * types were read in that core's and its USB library's public headers; nothing of them is in here. */
#ifndef ARDUINO_H
#define ARDUINO_H

#include <stddef.h>
#include <stdint.h>

class UsbSerial
{
  public:
    void begin(uint32_t baud);
    int available(void);
    int read(void);
    int availableForWrite(void);
    size_t write(uint8_t byte); /* waits for room while a computer has the port open */
    explicit operator bool(void);
};

extern UsbSerial Serial;

#endif

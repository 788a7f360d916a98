/* Stands in for the library that keeps bytes in the flash, by the names and types of its public header. */
#ifndef EEPROM_H
#define EEPROM_H

#include <stddef.h>
#include <stdint.h>

class EEPROMClass
{
  public:
    void begin(size_t size);
    uint8_t read(int at);
    void write(int at, uint8_t byte);
    bool commit(void);
};

extern EEPROMClass EEPROM;

#endif

#include "table_checks.h"

#if LINK

#include <EEPROM.h>

#include "flash_store.h"

void flash_store_begin(void)
{
    EEPROM.begin(PORT_STORE_SIZE);
}

uint8_t port_store_read(uint16_t at)
{
    return EEPROM.read(at);
}

uint8_t port_store_is_ready(void)
{
    return 1;
}

void port_store_write(uint16_t at, uint8_t byte)
{
    EEPROM.write(at, byte);
}

void port_store_commit(void)
{
    EEPROM.commit();
}

#endif

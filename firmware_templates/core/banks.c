#include "banks.h"

#include "port.h"

__attribute__((noinline)) uint8_t bank_read(const struct bank *bank, uint8_t input)
{
    uint8_t lines = flash_read_byte(&bank->select_count);
    for (uint8_t line = 0; line != lines; line++, input >>= 1) {
        port_output_put(flash_read_byte(&bank->select_port[line]), flash_read_byte(&bank->select_mask[line]), input & 1u);
    }
    port_wait_us(flash_read_byte(&bank->settle_us));
    return port_read(flash_read_byte(&bank->common_port));
}

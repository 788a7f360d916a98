#include "port_list.h"

#define INPUT_ADDRESS(letter) ((uint16_t)(uintptr_t)&PIN##letter)

const uint16_t port_list[PORT_COUNT] PROGMEM = {EACH_PORT(INPUT_ADDRESS)};

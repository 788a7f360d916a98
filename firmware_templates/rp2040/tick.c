#include "tick.h"

uint32_t tick_began_us;

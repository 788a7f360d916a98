#include "strobes.h"

#include <stddef.h>

#include "listen.h"

static const struct host_strobe *playing;
static uint16_t passed_us;

void host_strobe_play(const struct host_strobe *strobe)
{
    playing = strobe;
    passed_us = 0;
    listen_strobe_changed();
    playing = NULL;
}

void host_strobe_wait(uint8_t us)
{
    passed_us = (uint16_t)(passed_us + us);
}

uint8_t host_strobed(uint8_t port, uint8_t level)
{
    if (playing != NULL && port == playing->port) {
        return passed_us < playing->width_us ? playing->levels : playing->rest;
    }
    if (playing != NULL && port == playing->return_port) {
        return passed_us < playing->settle_us ? playing->before : playing->returns;
    }
    return level;
}

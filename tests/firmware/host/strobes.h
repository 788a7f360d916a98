/* The strobes of the pretended organ: active for a time, then over. */
#ifndef HOST_STROBES_H
#define HOST_STROBES_H

#include <stdint.h>

/* The strobes stand at `levels` for `width_us`, then at `rest`; the firmware's interrupt is raised at the beginning.
 * `returns` shows what a port of returns reads `settle_us` behind the beginning; before it shows `before`. */
struct host_strobe {
    uint8_t port;
    uint8_t levels;
    uint8_t rest;
    uint8_t width_us;
    uint8_t return_port;
    uint8_t before;
    uint8_t returns;
    uint8_t settle_us;
};

void host_strobe_play(const struct host_strobe *strobe);

/* Lets time of the present strobe pass. */
void host_strobe_wait(uint8_t us);

/* What a port reads; `level` where no strobe is played. */
uint8_t host_strobed(uint8_t port, uint8_t level);

#endif

/* A storm of random contacts on the sample console, for a run under the sanitizers. */
#include <inttypes.h>
#include <stdio.h>

#include "board.h"

static uint32_t dice = 1;

/* A linear congruential generator; the high bits are the good ones. */
static uint8_t roll(void)
{
    dice = dice * 1664525u + 1013904223u;
    return (uint8_t)(dice >> 24);
}

static void shake(void)
{
    for (int i = 0; i < 7; i++) {
        host_registers[i] = roll() < 128 ? roll() : host_registers[i];
    }
    host_ports[0] = roll();
    host_rows[roll() & 1].closed = roll();
    host_counts[9] = (uint16_t)(roll() << 2);
    host_wire_stuck = roll() < 40;
}

int main(void)
{
    uint32_t sent = 0;
    host_begin();
    for (uint8_t row = 0; row < 2; row++) {
        host_rows[row] = (struct host_row){.port = 10, .mask = (uint8_t)(1u << row), .columns = 2, .settle_us = 10};
    }
    for (int tick = 0; tick < 20000; tick++) {
        if (roll() < 90) {
            shake();
        }
        host_tick();
        sent += host_sent_count;
        host_sent_count = 0;
    }
    printf("%" PRIu32 "\n", sent);
    return 0;
}

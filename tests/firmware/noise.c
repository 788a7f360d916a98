/* Random and hostile bytes on MIDI in, by the wire and by USB, while contacts move: for a run under the sanitizers.
 *
 * Prints how many bytes came in, how many messages were ignored and how many broken, and how many bytes went out.
 * Half of what comes in is well formed: running status, requests, orders for stops; the rest is noise.  Fails when a byte
 * that came in is not taken, or when what is on at the end is not what is played.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "board.h"
#include "groups.h"
#include "lanes.h"
#include "midi_in.h"
#include "usb.h"
#include "wire_in.h"

#define ROOM 64 /* bytes in the largest piece of noise */

static uint32_t dice;

/* A linear congruential generator; the high bits are the good ones. */
static uint8_t roll(void)
{
    dice = dice * 1664525u + 1013904223u;
    return (uint8_t)(dice >> 24);
}

static void give(const uint8_t *bytes, uint8_t count)
{
    for (uint8_t i = 0; i < count; i++) {
        if (!host_wire_in_give(bytes[i])) {
            puts("a byte was not taken in time");
            exit(1);
        }
    }
}

static uint8_t noise(uint8_t *bytes)
{
    uint8_t count = (uint8_t)(1 + roll() % ROOM);
    for (uint8_t i = 0; i < count; i++) {
        bytes[i] = roll();
    }
    return count;
}

static uint8_t sense(uint8_t *bytes)
{
    static const uint8_t requests[4][6] = {
        {0xF0, 0x7E, 0x7F, 0x06, 0x01, 0xF7},
        {0xF0, 0x7D, 0x02, 0xF7, 0xF8, 0xFE},
        {0xB0, 123, 0, 123, 0, 0xF8},
        {0xB2, 20, 127, 21, 0, 22},
    };
    uint8_t which = roll() & 3u;
    for (uint8_t i = 0; i < 6; i++) {
        bytes[i] = requests[which][i];
    }
    return 6;
}

static uint32_t come_in(void)
{
    uint8_t bytes[ROOM];
    uint8_t count = roll() < 128 ? noise(bytes) : sense(bytes);
    uint8_t packet[4] = {bytes[0], roll(), roll(), roll()};
    give(bytes, count);
    packet[0] = roll() < 128 ? packet[0] & 0x0Fu : packet[0];
    (void)host_usb_give(packet);
    return (uint32_t)count + 4u;
}

static void shake(void)
{
    host_registers[roll() % 7u] = roll();
    host_ports[0] = roll();
    host_usb_plugged = roll() < 200;
    host_usb_stuck = roll() < 60;
    host_wire_stuck = roll() < 20;
}

static uint32_t sent;

static void pass(uint32_t ticks)
{
    for (uint32_t tick = 0; tick < ticks; tick++) {
        host_tick();
        sent += host_sent_count;
        host_sent_count = 0;
        host_usb_heard_count = 0;
    }
}

int main(int count, char **words)
{
    uint32_t wanted = count > 1 ? (uint32_t)strtoul(words[1], NULL, 10) : 50000u;
    uint32_t in = 0;
    dice = count > 2 ? (uint32_t)strtoul(words[2], NULL, 10) : 1u;
    host_begin();
    while (in < wanted) {
        shake();
        in += come_in();
        pass(1u + host_wire_in_waiting() / 8u);
    }
    host_wire_stuck = 0;
    pass(4000);
    for (uint8_t lane = 0; lane < LANE_COUNT; lane++) {
        const struct lane_state *state = &lane_states[lane];
        uint8_t differs = (uint8_t)((state->sent ^ lane_now(state)) & lane_used(lane) & ~state->muted);
        if (differs != 0 && state->group->duty != DUTY_STAGES) {
            printf("lane %u: what was sent is not what is on\n", lane);
            return 1;
        }
    }
    printf("%" PRIu32 " %u %u %" PRIu32 "\n", in, midi_in_ignored, midi_in_broken, sent);
    return host_wire_in_waiting() != 0;
}

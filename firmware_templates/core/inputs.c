#include "inputs.h"

#include "port.h"
#include "scan.h"
#include "table_checks.h"

#if LINK

static uint8_t latched; /* 1 once the chain has been loaded for the present reading */
static uint8_t shifted; /* registers shifted out since */

/* Shifts to a register, behind those that have come out already. */
static void chain_shift_to(uint8_t place)
{
    if (!latched) {
        port_chain_latch();
        port_chain_start();
        latched = 1;
        shifted = 0;
    }
    for (; shifted < place; shifted++) {
        (void)port_chain_take_and_start();
    }
}

/* A run's lanes from `place` on, into every `step`-th byte; registers are asked for in the order in which they come. */
static uint8_t *chain_read_on(uint8_t place, uint8_t count, uint8_t *levels, uint8_t step)
{
    chain_shift_to(place);
    shifted = (uint8_t)(shifted + count);
    for (; count != 0; count--, levels += step) {
        *levels = port_chain_take_and_start();
    }
    return levels;
}

static uint8_t *run_read_on(const struct run *run, uint8_t beyond, uint8_t count, uint8_t *levels, uint8_t step)
{
    uint8_t place = (uint8_t)(flash_read_byte(&run->first_place) + beyond);
    uint8_t source = flash_read_byte(&run->source);
    if (source == SOURCE_CHAIN) {
        return chain_read_on(place, count, levels, step);
    }
    for (; count != 0; count--, place++, levels += step) {
        *levels = scan_read_lane(source, flash_read_byte(&run->where), place);
    }
    return levels;
}

void inputs_read(uint8_t first, uint8_t count, uint8_t *levels, uint8_t step)
{
    latched = 0;
    for (uint8_t i = 0; i != RUN_COUNT && count != 0; i++) {
        const struct run *run = &run_table[i];
        uint8_t beyond = (uint8_t)(first - flash_read_byte(&run->first_lane));
        uint8_t lanes = flash_read_byte(&run->lane_count);
        if (beyond < lanes) {
            uint8_t there = (uint8_t)(lanes - beyond);
            uint8_t taken = there < count ? there : count;
            levels = run_read_on(run, beyond, taken, levels, step);
            first = (uint8_t)(first + taken);
            count = (uint8_t)(count - taken);
        }
    }
}

#endif

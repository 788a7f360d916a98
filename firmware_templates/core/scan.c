#include "scan.h"

#include <stddef.h>

#include "counters.h"
#include "events.h"
#include "holds.h"
#include "lanes.h"
#include "port.h"
#include "pump.h"
#include "stages.h"

/* What the scan needs of a run, in RAM: looking it up in flash would cost more than reading a lane. */
struct run_state {
    struct group_state *group;
    uint8_t lane;  /* first lane */
    uint8_t count; /* lanes */
    uint8_t place; /* register or row of the first lane */
};

static struct run_state run_states[AT_LEAST_ONE(RUN_COUNT)];
static uint8_t chain_runs; /* runs of the chain; they come first in run_table */
static uint8_t chain_end;  /* one past the last chain run that the coming scan reads; 0 when it reads none */
static uint8_t scan_ticks; /* number of the coming scan, modulo 256: periods are at most 64 ticks */

static inline __attribute__((always_inline)) void change_hand_on(const struct group_state *group, uint8_t lane,
                                                                 struct lane_state *state, uint8_t changed)
{
    if (group->ring != NULL) {
        event_ring_push(group->ring, lane, state, changed);
        pump_run();
    } else if (group->duty == DUTY_STAGES) {
        stages_changed(group->shoe);
    }
}

/* First edge: the contact is not listened to for a while, and the change is reported at once. */
static inline __attribute__((always_inline)) void first_edge_look(struct group_state *group, uint8_t lane,
                                                                  struct lane_state *state, uint8_t raw)
{
    uint8_t changed = (uint8_t)((raw ^ state->quiet) & state->listen);
    state->quiet ^= changed;
    holds_begin(group, lane, state, changed);
    change_hand_on(group, lane, state, changed);
}

static __attribute__((noinline)) void counted_look(struct group_state *group, uint8_t lane, struct lane_state *state,
                                                   uint8_t raw)
{
    uint8_t changed = counters_sample(group, lane, state, raw);
    if (changed != 0) {
        change_hand_on(group, lane, state, changed);
    }
}

/* A lane that is not quiet: debounces it and hands on what changed. */
static __attribute__((noinline)) void lane_look(struct group_state *group, uint8_t lane, struct lane_state *state,
                                                uint8_t raw)
{
    if (group->family == FAMILY_FIRST_EDGE) {
        first_edge_look(group, lane, state, raw);
    } else {
        counted_look(group, lane, state, raw);
    }
}

/* Reads the rest of a run that is not all quiet: `left` lanes from the one whose byte is `raw`.  Out of line, so that a
 * quiet run need not save the registers that this takes; with the first-edge family in line, whose changes are urgent. */
static __attribute__((noinline)) void chain_read_busy(struct group_state *group, struct lane_state *state, uint8_t end,
                                                      uint8_t left, uint8_t raw)
{
    uint8_t first_edge = group->family == FAMILY_FIRST_EDGE;
    do {
        if (first_edge) {
            first_edge_look(group, (uint8_t)(end - left), state, raw);
        } else {
            counted_look(group, (uint8_t)(end - left), state, raw);
        }
        state++;
        if (--left == 0) {
            return;
        }
        raw = port_chain_pass_quiet(&state, &left);
    } while (left != 0);
}

/* Reads the lanes of a run; the byte of the first is on its way.  The byte of the next register is started before a lane is
 * looked at, so that the chain shifts on meanwhile. */
static inline __attribute__((always_inline)) void chain_read(const struct run_state *run)
{
    struct lane_state *state = &lane_states[run->lane];
    uint8_t left = run->count;
    uint8_t raw = port_chain_pass_quiet(&state, &left);
    if (left != 0) {
        chain_read_busy(run->group, state, (uint8_t)(run->lane + run->count), left, raw);
    }
}

static void chain_skip(uint8_t registers)
{
    for (; registers != 0; registers--) {
        (void)port_chain_take_and_start();
    }
}

/* Shifts out the registers up to the last run that is due; those of no due run are shifted through unseen. */
static void scan_chain(void)
{
    const struct run_state *run = run_states;
    uint8_t place = 0;
    for (uint8_t number = 1; number <= chain_end; number++, run++) {
        if (run->group->due) {
            chain_skip((uint8_t)(run->place - place));
            PORT_MARK(number);
            chain_read(run);
            place = (uint8_t)(run->place + run->count);
        }
    }
}

static uint8_t matrix_read_row(const struct matrix *matrix, uint8_t row)
{
    uint8_t port = flash_read_byte(&matrix->row_port[row]);
    uint8_t mask = flash_read_byte(&matrix->row_mask[row]);
    port_row_drive(port, mask);
    port_wait_us(flash_read_byte(&matrix->settle_us));
    uint8_t raw = port_read(flash_read_byte(&matrix->column_port));
    port_row_release(port, mask);
    return raw;
}

static uint8_t run_read_lane(uint8_t source, uint8_t where, uint8_t place)
{
    return source == SOURCE_MATRIX ? matrix_read_row(&matrix_table[where], place) : port_read(where);
}

static __attribute__((noinline)) void run_read(const struct run_state *run, uint8_t source, uint8_t where)
{
    struct lane_state *state = &lane_states[run->lane];
    for (uint8_t i = 0; i != run->count; i++, state++) {
        uint8_t raw = run_read_lane(source, where, (uint8_t)(run->place + i));
        if (!lane_is_quiet(state, raw)) {
            lane_look(run->group, (uint8_t)(run->lane + i), state, raw);
        }
    }
}

static void scan_pins(void)
{
    for (uint8_t i = chain_runs; i != RUN_COUNT; i++) {
        if (run_states[i].group->due) {
            PORT_MARK((uint8_t)(i + 1));
            run_read(&run_states[i], flash_read_byte(&run_table[i].source), flash_read_byte(&run_table[i].where));
        }
    }
}

/* Ends the samples of this scan and works out what the next one reads; done behind the readings, so that it delays none. */
static void scan_turn(void)
{
    uint8_t tick = ++scan_ticks;
    uint8_t end = 0;
    for (struct group_state *group = group_states; group != group_states + GROUP_COUNT; group++) {
        if (group->due) {
            holds_end_due(group);
        }
        group->due = (tick & group->tick_mask) == group->phase;
        if (group->due && end < group->chain_end) {
            end = group->chain_end;
        }
    }
    chain_end = end;
}

static void run_begin(struct run_state *state, const struct run *run)
{
    state->group = &group_states[flash_read_byte(&run->group)];
    state->lane = flash_read_byte(&run->first_lane);
    state->count = flash_read_byte(&run->lane_count);
    state->place = flash_read_byte(&run->first_place);
}

void scan_begin(void)
{
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        run_begin(&run_states[i], &run_table[i]);
    }
    chain_runs = 0;
    while (chain_runs != RUN_COUNT && flash_read_byte(&run_table[chain_runs].source) == SOURCE_CHAIN) {
        run_states[chain_runs].group->chain_end = (uint8_t)(chain_runs + 1);
        chain_runs++;
    }
    scan_ticks = UINT8_MAX;
    scan_turn();
}

void scan_tick(void)
{
    PORT_MARK(0xFFu);
    port_chain_latch();
    if (chain_end != 0) {
        port_chain_start();
        scan_chain();
    }
    scan_pins();
    scan_turn();
    PORT_MARK(0);
}

#include "scan.h"

#include "counters.h"
#include "events.h"
#include "holds.h"
#include "lanes.h"
#include "port.h"
#include "pump.h"
#include "stages.h"

static uint8_t scan_ticks; /* ticks since the start, modulo 256: periods are at most 64 ticks */
static uint8_t chain_runs; /* runs of the chain; they come first in run_table */
static uint8_t chain_end;  /* one past the last chain run that the next tick reads; 0 when it reads none */

/* What the scan needs of a run, in RAM: looking it up in flash would cost more than reading a lane. */
struct run_state {
    struct group_state *group;
    uint8_t lane;  /* first lane */
    uint8_t count; /* lanes */
    uint8_t place; /* register or row of the first lane */
};

static struct run_state run_states[AT_LEAST_ONE(RUN_COUNT)];

static void change_hand_on(const struct group_state *group, uint8_t lane, uint8_t changed)
{
    if (group->duty == DUTY_STAGES) {
        stages_changed(group->shoe);
    } else {
        events_push(group->duty, lane, changed);
        pump_run();
    }
}

/* A lane that is not quiet: debounces it and hands on what changed. */
static void lane_look(struct group_state *group, uint8_t lane, uint8_t raw)
{
    struct lane_state *state = &lane_states[lane];
    uint8_t changed;
    if (group->family == FAMILY_FIRST_EDGE) {
        changed = (uint8_t)((raw ^ state->quiet) & state->listen);
        state->quiet ^= changed;
        change_hand_on(group, lane, changed);
        holds_begin(group, lane, changed);
        return;
    }
    changed = counters_sample(group, lane, raw);
    if (changed != 0) {
        change_hand_on(group, lane, changed);
    }
}

static inline uint8_t lane_is_quiet(const struct lane_state *lane, uint8_t raw)
{
    return (uint8_t)(((raw ^ lane->quiet) & lane->listen) | lane->attention) == 0;
}

/* Where the chain was left because a lane was not quiet. */
struct chain_halt {
    uint8_t left; /* lanes left, that lane included; 0 when all were quiet */
    uint8_t raw;  /* the byte read from it */
};

/* Reads lanes until one is not quiet.  The byte of the first is on its way; each next one is started before its
 * predecessor is looked at, so that the chain shifts on meanwhile.  Kept out of line: a loop of its own has the registers
 * that it needs, and runs within the 16 cycles that a byte takes at half the CPU clock. */
static __attribute__((noinline)) struct chain_halt chain_pass_quiet(const struct lane_state *lane, uint8_t left)
{
    struct chain_halt halt;
    do {
        halt.raw = port_chain_take_and_start();
        if (!lane_is_quiet(lane, halt.raw)) {
            break;
        }
        lane++;
    } while (--left != 0);
    halt.left = left;
    return halt;
}

/* Reads `left` lanes, each of which starts the byte of the next. */
static uint8_t chain_read_on(struct group_state *group, uint8_t lane, uint8_t left)
{
    uint8_t end = (uint8_t)(lane + left);
    while (left != 0) {
        struct chain_halt halt = chain_pass_quiet(&lane_states[(uint8_t)(end - left)], left);
        if (halt.left == 0) {
            break;
        }
        lane_look(group, (uint8_t)(end - halt.left), halt.raw);
        left = (uint8_t)(halt.left - 1);
    }
    return end;
}

/* Reads the lane with which the chain ends for this tick. */
static void chain_read_last(struct group_state *group, uint8_t lane)
{
    uint8_t raw = port_chain_take();
    if (!lane_is_quiet(&lane_states[lane], raw)) {
        lane_look(group, lane, raw);
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
        uint8_t last = number == chain_end;
        if (!run->group->due) {
            continue;
        }
        chain_skip((uint8_t)(run->place - place));
        PORT_MARK(number);
        uint8_t lane = chain_read_on(run->group, run->lane, (uint8_t)(run->count - last));
        if (last) {
            chain_read_last(run->group, lane);
        }
        place = (uint8_t)(run->place + run->count);
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

static void run_read(const struct run_state *run, uint8_t source, uint8_t where)
{
    uint8_t lane = run->lane;
    uint8_t place = run->place;
    for (uint8_t left = run->count; left != 0; left--) {
        uint8_t raw = run_read_lane(source, where, place++);
        if (!lane_is_quiet(&lane_states[lane], raw)) {
            lane_look(run->group, lane, raw);
        }
        lane++;
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
    for (struct group_state *group = group_states; group != group_states + GROUP_COUNT; group++) {
        if (group->due) {
            holds_end_due(group);
        }
        group->due = (tick & group->tick_mask) == group->phase;
    }
    chain_end = chain_runs;
    while (chain_end != 0 && !run_states[chain_end - 1].group->due) {
        chain_end--;
    }
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
    scan_ticks = UINT8_MAX;
    chain_runs = 0;
    while (chain_runs != RUN_COUNT && flash_read_byte(&run_table[chain_runs].source) == SOURCE_CHAIN) {
        chain_runs++;
    }
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

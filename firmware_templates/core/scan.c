#include "scan.h"

#include <stddef.h>

#include "banks.h"
#include "counters.h"
#include "events.h"
#include "expanders.h"
#include "holds.h"
#include "integrator.h"
#include "lanes.h"
#include "listen.h"
#include "matrix.h"
#include "port.h"
#include "pump.h"
#include "stages.h"

/* What the scan needs of a run, in RAM: looking it up in flash would cost more than reading a lane. */
struct run_state {
    struct group_state *group;
    uint8_t gap;              /* chain: registers between the run before and this one, which belong to no run */
    uint8_t count;            /* lanes */
    struct lane_state *lanes; /* the first lane */
    uint8_t lane_end;         /* number of the last lane, plus 1 */
};

static struct run_state run_states[AT_LEAST_ONE(RUN_COUNT)];
static uint8_t chain_runs; /* runs of the chain; they come first in run_table */
/* One past the last chain run that the coming scan reads; run_states for none. */
static const struct run_state *chain_end;
static uint8_t scan_ticks; /* number of the coming scan, modulo 256: periods are at most 64 ticks */

static inline __attribute__((always_inline)) void change_hand_on(const struct group_state *group, uint8_t lane,
                                                                 struct lane_state *state, uint8_t now, uint8_t changed)
{
    if (group->ring != NULL) {
        event_ring_push(group->ring, lane, state, now, changed);
        pump_poke(changed);
    } else if (group->duty == DUTY_STAGES) {
        stages_changed(group->shoe);
    }
}

/* First edge: the change is reported at once, and the contact is not listened to for a while. */
static inline __attribute__((always_inline)) void first_edge_look(struct group_state *group, uint8_t lane,
                                                                  struct lane_state *state, uint8_t raw)
{
    uint8_t quiet = state->quiet;
    uint8_t changed = (uint8_t)((raw ^ quiet) & state->listen);
    quiet ^= changed;
    uint8_t now = quiet ^ state->invert;
    state->quiet = quiet;
    change_hand_on(group, lane, state, now, changed);
    holds_begin(group, lane, state, changed);
}

/* The families that count. */
static __attribute__((noinline)) void counted_look(struct group_state *group, uint8_t lane, struct lane_state *state,
                                                   uint8_t raw)
{
    uint8_t changed = group->family == FAMILY_INTEGRATOR ? integrator_sample(group, lane, state, raw)
                                                         : counters_sample(group, lane, state, raw);
    if (changed != 0) {
        change_hand_on(group, lane, state, lane_now(state), changed);
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

/* Goes on behind a lane that was looked at; see port_chain_pass_quiet. */
static inline __attribute__((always_inline)) uint8_t chain_pass_on(struct lane_state **state, uint8_t *left)
{
    (*state)++;
    if (--*left == 0) {
        return 0;
    }
    return port_chain_pass_quiet(state, left);
}

/* Reads the rest of a run that is not all quiet: `left` lanes from the one whose byte is `raw`.  A loop for each
 * family, so that each holds little. */
static inline __attribute__((always_inline)) void chain_read_rest(const struct run_state *run, struct lane_state *state,
                                                                  uint8_t left, uint8_t raw)
{
    struct group_state *group = run->group;
    uint8_t end = run->lane_end;
    if (group->family == FAMILY_FIRST_EDGE) {
        do {
            first_edge_look(group, (uint8_t)(end - left), state, raw);
            raw = chain_pass_on(&state, &left);
        } while (left != 0);
    } else {
        do {
            counted_look(group, (uint8_t)(end - left), state, raw);
            raw = chain_pass_on(&state, &left);
        } while (left != 0);
    }
}

/* Reads the lanes of a run; the byte of the first is on its way.  The byte of the next register is started before a
 * lane is looked at, so that the chain shifts on meanwhile. */
static inline __attribute__((always_inline)) void chain_read(const struct run_state *run)
{
    struct lane_state *state = run->lanes;
    uint8_t left = run->count;
    uint8_t raw = port_chain_pass_quiet(&state, &left);
    if (left != 0) {
        chain_read_rest(run, state, left, raw);
    }
}

static inline __attribute__((always_inline)) void chain_skip(uint8_t registers)
{
    for (; registers != 0; registers--) {
        (void)port_chain_take_and_start();
    }
}

/* Shifts out the registers up to the last run that is due; those of no due run are shifted through unseen. */
static inline __attribute__((always_inline)) void scan_chain(void)
{
    const struct run_state *end = chain_end;
    uint8_t number = 0;
    uint8_t skip = 0;
    for (const struct run_state *run = run_states; run != end; run++) {
        number++;
        skip = (uint8_t)(skip + run->gap);
        if (!run->group->due) {
            skip = (uint8_t)(skip + run->count);
            continue;
        }
        chain_skip(skip);
        skip = 0;
        PORT_MARK(number);
        chain_read(run);
    }
}

/* Out of line, so that matrices and ports cost no more where there is something else. */
static __attribute__((noinline)) uint8_t front_end_read(uint8_t source, uint8_t where, uint8_t place)
{
    if (source == SOURCE_LISTEN) {
        return listen_read(where, place);
    }
    return source == SOURCE_MULTIPLEXER ? bank_read(&bank_table[where], place) : expander_read(where, place);
}

static inline __attribute__((always_inline)) uint8_t run_read_lane(uint8_t source, uint8_t where, uint8_t place)
{
    if (source == SOURCE_MATRIX) {
        return matrix_read_row(&matrix_table[where], place);
    }
    return source == SOURCE_PORT ? port_read(where) : front_end_read(source, where, place);
}

#if LINK
uint8_t scan_read_lane(uint8_t source, uint8_t where, uint8_t place)
{
    return run_read_lane(source, where, place);
}
#endif

static __attribute__((noinline)) void run_read(const struct run_state *state, const struct run *run)
{
    uint8_t source = flash_read_byte(&run->source);
    uint8_t where = flash_read_byte(&run->where);
    uint8_t place = flash_read_byte(&run->first_place);
    struct lane_state *lane = state->lanes;
    for (uint8_t left = state->count; left != 0; left--, place++, lane++) {
        uint8_t raw = run_read_lane(source, where, place);
        if (!lane_is_quiet(lane, raw)) {
            lane_look(state->group, (uint8_t)(state->lane_end - left), lane, raw);
        }
    }
}

/* The runs behind those of the chain.  Out of line, so that the chain's loop has the registers that it needs. */
static __attribute__((noinline)) void scan_pins(void)
{
    if (RUN_COUNT == 0) {
        return;
    }
    for (uint8_t i = chain_runs; i != RUN_COUNT; i++) {
        if (run_states[i].group->due) {
            PORT_MARK((uint8_t)(i + 1));
            run_read(&run_states[i], &run_table[i]);
        }
    }
}

/* Ends the samples of this scan and works out what the next one reads; done behind the readings, so that it delays
 * none. */
static inline __attribute__((always_inline)) void scan_turn(void)
{
    uint8_t tick = ++scan_ticks;
    const struct run_state *end = run_states;
    for (struct group_state *group = group_states; group != group_states + GROUP_COUNT; group++) {
        if (group->due) {
            holds_turn(group);
        }
        group->due = (tick & group->tick_mask) == group->phase;
        if (group->due && group->chain_end > end) {
            end = group->chain_end;
        }
    }
    chain_end = end;
}

static void run_begin(struct run_state *state, const struct run *run)
{
    uint8_t first_lane = flash_read_byte(&run->first_lane);
    state->group = &group_states[flash_read_byte(&run->group)];
    state->gap = 0;
    state->count = flash_read_byte(&run->lane_count);
    state->lanes = &lane_states[first_lane];
    state->lane_end = (uint8_t)(first_lane + state->count);
}

/* The runs of the chain: the registers between them, and the last one of each group. */
static void chain_begin_runs(void)
{
    uint8_t place = 0;
    if (RUN_COUNT == 0) {
        return;
    }
    for (chain_runs = 0; chain_runs != RUN_COUNT; chain_runs++) {
        const struct run *run = &run_table[chain_runs];
        struct run_state *state = &run_states[chain_runs];
        if (flash_read_byte(&run->source) != SOURCE_CHAIN) {
            return;
        }
        state->gap = (uint8_t)(flash_read_byte(&run->first_place) - place);
        state->group->chain_end = state + 1;
        place = (uint8_t)(place + state->gap + state->count);
    }
}

void scan_begin(void)
{
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        run_begin(&run_states[i], &run_table[i]);
    }
    for (uint8_t i = 0; i != GROUP_COUNT; i++) {
        group_states[i].chain_end = run_states;
    }
    chain_begin_runs();
    scan_ticks = UINT8_MAX;
    scan_turn();
}

void scan_tick(void)
{
    PORT_MARK(0xFFu);
    if (REGISTER_COUNT != 0) {
        port_chain_latch();
        port_chain_start();
    }
    scan_chain();
    if (chain_runs != RUN_COUNT) {
        scan_pins();
    }
    scan_turn();
    PORT_MARK(0);
}

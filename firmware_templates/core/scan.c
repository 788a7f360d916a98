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

/* Neighbouring runs of the chain that are always due together, with no register between them, are read as one stretch:
 * whose contacts they are is asked of a lane, once it is not quiet.  Any other run is a stretch of its own.  In RAM:
 * looking a run up in flash would cost more than reading a lane. */
struct stretch {
    struct pace *pace;
    uint8_t gap;              /* chain: registers between the stretch before and this one, which belong to no run */
    uint8_t number;           /* index of its first run, plus 1 */
    struct lane_state *lanes; /* the first lane */
    uint8_t count;            /* lanes */
    uint8_t lane_end;         /* number of the last lane, plus 1 */
};

static struct stretch stretches[AT_LEAST_ONE(RUN_COUNT)];
static struct stretch *stretches_end;
static const struct stretch *pin_stretches; /* those of the chain come first; from here on the others */
static uint8_t has_pins;                    /* 1 when there are such */
/* One past the last stretch of the chain that the coming scan reads; stretches for none. */
static const struct stretch *chain_end;
static uint8_t scan_ticks; /* number of the coming scan, modulo 256: periods are at most 64 ticks */

static inline __attribute__((always_inline)) void change_hand_on(const struct group_state *group, uint8_t lane,
                                                                 struct lane_state *state, uint8_t now, uint8_t changed)
{
    if (group->ring != NULL) {
        event_report(group->ring, lane, state, now, changed);
    } else if (group->duty == DUTY_STAGES) {
        stages_changed(group->shoe);
    }
}

/* First edge: what changed is reported at once (by who calls), and not listened to for a while.  Returns it. */
static inline __attribute__((always_inline)) uint8_t first_edge_take(struct lane_state *state, uint8_t raw)
{
    uint8_t quiet = state->quiet;
    uint8_t listen = state->listen;
    uint8_t changed = (uint8_t)((raw ^ quiet) & listen);
    state->quiet = quiet ^ changed;
    state->listen = listen ^ changed;
    return changed;
}

static void first_edge_look(struct group_state *group, uint8_t lane, struct lane_state *state, uint8_t raw)
{
    uint8_t changed = first_edge_take(state, raw);
    change_hand_on(group, lane, state, lane_now(state), changed);
    holds_expect(group->pace);
    holds_begin(group, lane, changed, group->pace->sample);
}

/* The families that count. */
static void counted_look(struct group_state *group, uint8_t lane, struct lane_state *state, uint8_t raw)
{
    uint8_t changed = group->family == FAMILY_INTEGRATOR ? integrator_sample(group, lane, state, raw)
                                                         : counters_sample(group, lane, state, raw);
    if (changed != 0) {
        change_hand_on(group, lane, state, lane_now(state), changed);
    }
}

/* A lane that is not quiet: debounces it and hands on what changed. */
static __attribute__((noinline)) void lane_look(uint8_t lane, struct lane_state *state, uint8_t raw)
{
    struct group_state *group = state->group;
    if (group->family == FAMILY_FIRST_EDGE) {
        first_edge_look(group, lane, state, raw);
    } else {
        counted_look(group, lane, state, raw);
    }
}

/* The same, inline for what is struck most and by many at once: first edge, with a ring.  The pace is told
 * by who calls, behind the last of them. */
static inline __attribute__((always_inline)) void chain_look(uint8_t lane, struct lane_state *state, uint8_t raw,
                                                             uint8_t sample)
{
    struct group_state *group = state->group;
    struct event_ring *ring = group->direct;
    if (ring != NULL) {
        uint8_t changed = first_edge_take(state, raw);
        event_report(ring, lane, state, lane_now(state), changed);
        holds_begin(group, lane, changed, sample);
    } else {
        lane_look(lane, state, raw);
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

/* What reading a stretch needs, looked up before its first byte is waited for. */
struct reading {
    const struct stretch *stretch;
    uint8_t skip;             /* registers to shift through before it */
    uint8_t sample;           /* number of the sample of its pace */
    struct lane_state *state; /* the lane that is read next */
    uint8_t left;             /* lanes that are left */
};

/* Reads the rest of a stretch that is not all quiet, from the lane whose byte is `raw`. */
static inline __attribute__((always_inline)) void chain_read_rest(struct reading *reading, uint8_t raw)
{
    uint8_t end = reading->stretch->lane_end;
    do {
        chain_look((uint8_t)(end - reading->left), reading->state, raw, reading->sample);
        raw = chain_pass_on(&reading->state, &reading->left);
    } while (reading->left != 0);
    holds_expect(reading->stretch->pace);
}

/* Reads the lanes of a stretch; the byte of the first is on its way.  The byte of the next register is started before
 * a lane is looked at, so that the chain shifts on meanwhile. */
static inline __attribute__((always_inline)) void chain_read(struct reading *reading)
{
    PORT_MARK(reading->stretch->number);
    uint8_t raw = port_chain_pass_quiet(&reading->state, &reading->left);
    if (reading->left != 0) {
        chain_read_rest(reading, raw);
    }
}

static inline __attribute__((always_inline)) void chain_skip(uint8_t registers)
{
    for (; registers != 0; registers--) {
        (void)port_chain_take_and_start();
    }
}

/* Finds the first stretch from `stretch` on that is due; returns 0 when there is none before `end`. */
static inline __attribute__((always_inline)) uint8_t chain_find(struct reading *reading, const struct stretch *stretch,
                                                                const struct stretch *end)
{
    reading->skip = 0;
    for (; stretch != end; stretch++) {
        const struct pace *pace = stretch->pace;
        reading->skip = (uint8_t)(reading->skip + stretch->gap);
        if (pace->due) {
            reading->stretch = stretch;
            reading->sample = pace->sample;
            reading->state = stretch->lanes;
            reading->left = stretch->count;
            return 1;
        }
        reading->skip = (uint8_t)(reading->skip + stretch->count);
    }
    return 0;
}

/* Loads the chain and shifts out the registers up to the last stretch that is due; those that are not due are shifted
 * through unseen.  When none is due, the chain is left alone. */
static inline __attribute__((always_inline)) void scan_chain(void)
{
    struct reading reading;
    const struct stretch *end = chain_end;
    if (REGISTER_COUNT == 0 || !chain_find(&reading, stretches, end)) {
        return;
    }
    port_chain_latch();
    port_chain_start();
    do {
        chain_skip(reading.skip);
        chain_read(&reading);
    } while (chain_find(&reading, reading.stretch + 1, end));
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

static __attribute__((noinline)) void run_read(const struct stretch *stretch, const struct run *run)
{
    uint8_t source = flash_read_byte(&run->source);
    uint8_t where = flash_read_byte(&run->where);
    uint8_t place = flash_read_byte(&run->first_place);
    struct lane_state *lane = stretch->lanes;
    for (uint8_t left = stretch->count; left != 0; left--, place++, lane++) {
        uint8_t raw = run_read_lane(source, where, place);
        if (!lane_is_quiet(lane, raw)) {
            lane_look((uint8_t)(stretch->lane_end - left), lane, raw);
        }
    }
}

/* The runs behind those of the chain.  Out of line, so that the chain's loop has the registers that it needs. */
static __attribute__((noinline)) void scan_pins(void)
{
    for (const struct stretch *stretch = pin_stretches; stretch != stretches_end; stretch++) {
        if (stretch->pace->due) {
            PORT_MARK(stretch->number);
            run_read(stretch, &run_table[stretch->number - 1]);
        }
    }
}

/* Ends the samples of this scan and works out what the next one reads; done behind the readings, so that it delays
 * none. */
static inline __attribute__((always_inline)) void scan_turn(void)
{
    uint8_t tick = ++scan_ticks;
    const struct stretch *end = stretches;
    for (struct pace *pace = pace_states; pace != paces_end; pace++) {
        if (pace->due) {
            holds_turn(pace);
        }
        pace->due = (tick & pace->tick_mask) == pace->phase;
        if (pace->due && pace->chain_end > end) {
            end = pace->chain_end;
        }
    }
    chain_end = end;
}

/* Makes a run that begins `gap` registers behind the stretch before part of that stretch, or a new one. */
static void stretch_take(uint8_t number, const struct run *run, uint8_t gap)
{
    struct stretch *stretch = stretches_end - 1;
    struct pace *pace = group_states[flash_read_byte(&run->group)].pace;
    uint8_t first_lane = flash_read_byte(&run->first_lane);
    uint8_t is_chain = flash_read_byte(&run->source) == SOURCE_CHAIN;
    if (!is_chain || stretches_end == stretches || gap != 0 || stretch->pace != pace) {
        stretch = stretches_end++;
        stretch->pace = pace;
        stretch->gap = gap;
        stretch->count = 0;
        stretch->lanes = &lane_states[first_lane];
        stretch->lane_end = first_lane;
        stretch->number = number;
    }
    uint8_t lanes = flash_read_byte(&run->lane_count);
    stretch->count = (uint8_t)(stretch->count + lanes);
    stretch->lane_end = (uint8_t)(stretch->lane_end + lanes);
    if (is_chain) {
        pace->chain_end = stretches_end;
        pin_stretches = stretches_end;
    }
}

/* Lanes are numbered in reading order, so that those of neighbouring runs of the chain are neighbours in RAM. */
static void stretches_begin(void)
{
    uint8_t place = 0;
    stretches_end = stretches;
    pin_stretches = stretches;
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        const struct run *run = &run_table[i];
        uint8_t first_place = flash_read_byte(&run->first_place);
        stretch_take((uint8_t)(i + 1), run, (uint8_t)(first_place - place));
        place = (uint8_t)(first_place + flash_read_byte(&run->lane_count));
    }
    has_pins = pin_stretches != stretches_end;
}

void scan_begin(void)
{
    for (struct pace *pace = pace_states; pace != paces_end; pace++) {
        pace->chain_end = stretches;
    }
    stretches_begin();
    scan_ticks = UINT8_MAX;
    scan_turn();
}

void scan_tick(void)
{
    PORT_MARK(0xFFu);
    scan_chain();
    if (has_pins) {
        scan_pins();
    }
    scan_turn();
    PORT_MARK(0);
}

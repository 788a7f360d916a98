#include "listen.h"

#include "lanes.h"
#include "port.h"

#define PORTS AT_LEAST_ONE(LISTEN_PORTS)
#define STROBES AT_LEAST_ONE(LISTEN_STROBES)
#define STROBES_MASK ((uint8_t)((1u << LISTEN_STROBES) - 1u))

/* Written by the interrupt and, for strobes that are silent, by the tick. */
static volatile uint8_t kept_levels[PORTS][STROBES];
static volatile uint8_t heard[STROBES]; /* 1 once the strobe was read in the present window */
static volatile uint8_t ignored_in;     /* strobes that were not read, modulo 256 */

static uint8_t ignored_out;                 /* of these, how many have been counted */
static uint8_t idle_levels[PORTS][STROBES]; /* the levels that mean "off" */
static uint8_t silent[STROBES];             /* 1 while the strobe has not been heard for a whole window */
static uint16_t window_ticks;               /* ticks of the present window */
uint16_t listen_ignored;
uint16_t listen_silences;

static uint8_t strobes_active(void)
{
    uint8_t levels = port_read(LISTEN_STROBE_PORT);
    return (uint8_t)(LISTEN_ACTIVE_LOW ? ~levels : levels) & STROBES_MASK;
}

static uint8_t strobe_number(uint8_t bit)
{
    uint8_t number = 0;
    while (bit >>= 1) {
        number++;
    }
    return number;
}

static void keep(uint8_t strobe, const uint8_t *levels)
{
    for (uint8_t port = 0; port != PORTS; port++) {
        kept_levels[port][strobe] = levels[port];
    }
    heard[strobe] = 1;
}

/* The other edge of a strobe, and the pause between two, bring no reading. */
void listen_strobe_changed(void)
{
    uint8_t levels[PORTS];
    uint8_t active = strobes_active();
    if (active == 0) {
        return;
    }
    uint8_t is_one = (active & (uint8_t)(active - 1)) == 0;
    if (is_one) {
        port_wait_us(LISTEN_SETTLE_US);
        for (uint8_t port = 0; port != PORTS; port++) {
            levels[port] = port_read(flash_read_byte(&listen_table[port].port));
        }
    }
    if (is_one && strobes_active() == active) {
        keep(strobe_number(active), levels);
    } else {
        ignored_in++;
    }
}

static void strobe_go_idle(uint8_t strobe)
{
    for (uint8_t port = 0; port != PORTS; port++) {
        kept_levels[port][strobe] = idle_levels[port][strobe];
    }
}

/* A strobe that is heard again while it is being judged may be off for one more round. */
static void strobe_judge(uint8_t strobe)
{
    if (heard[strobe]) {
        heard[strobe] = 0;
        silent[strobe] = 0;
        return;
    }
    strobe_go_idle(strobe);
    if (!silent[strobe] && listen_silences != UINT16_MAX) {
        listen_silences++;
    }
    silent[strobe] = 1;
}

/* Takes over what the interrupt has counted; it counts fewer than 256 in a tick. */
static void ignored_take_over(void)
{
    uint8_t in = ignored_in;
    uint8_t more = (uint8_t)(in - ignored_out);
    ignored_out = in;
    listen_ignored = more > UINT16_MAX - listen_ignored ? UINT16_MAX : (uint16_t)(listen_ignored + more);
}

void listen_tick(void)
{
    if (LISTEN_PORTS == 0) {
        return;
    }
    ignored_take_over();
    if (++window_ticks >= LISTEN_SILENT_TICKS) {
        window_ticks = 0;
        for (uint8_t strobe = 0; strobe != LISTEN_STROBES; strobe++) {
            strobe_judge(strobe);
        }
    }
}

/* A contact that is off reads as its lane's reversed bits do. */
static void idle_levels_begin(const struct run *run)
{
    uint8_t *idle = idle_levels[flash_read_byte(&run->where)];
    uint8_t strobe = flash_read_byte(&run->first_place);
    uint8_t lane = flash_read_byte(&run->first_lane);
    for (uint8_t left = flash_read_byte(&run->lane_count); left != 0; left--) {
        idle[strobe++] = lane_states[lane++].invert;
    }
}

void listen_begin(void)
{
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        if (flash_read_byte(&run_table[i].source) == SOURCE_LISTEN) {
            idle_levels_begin(&run_table[i]);
        }
    }
    for (uint8_t strobe = 0; strobe != LISTEN_STROBES; strobe++) {
        strobe_go_idle(strobe);
        heard[strobe] = 0;
        silent[strobe] = 1;
    }
    ignored_out = ignored_in;
    window_ticks = 0;
    listen_ignored = 0;
    listen_silences = 0;
}

uint8_t listen_read(uint8_t port, uint8_t strobe)
{
    return kept_levels[port][strobe];
}

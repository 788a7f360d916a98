#include "expanders.h"

#include "lanes.h"

/* Registers of an MCP23017 after power-on, IOCON.BANK 0 (Microchip DS20001952C, register addresses). */
#define REGISTER_IODIRA 0x00u
#define REGISTER_GPPUA 0x0Cu
#define REGISTER_GPIOA 0x12u
#define SET_UP_BYTES 14 /* IODIRA to GPPUB */

/* Pins of a port that take contacts: inputs, pulled up.  The eighth may only be an output; it drives low. */
#define INPUTS 0x7Fu
#define READING 1u /* direction bit of a device address */

/* What the bus is doing. */
enum bus_step {
    BUS_RESTS = 0,
    BUS_STARTS,       /* (re)start, then the device */
    BUS_ADDRESSES,    /* the device, to be written to */
    BUS_POINTS,       /* the register */
    BUS_SETS_UP,      /* a setting */
    BUS_TURNS_ROUND,  /* repeated start */
    BUS_READDRESSES,  /* the device, to be read from */
    BUS_READS_A,      /* the levels of port A, acknowledged: another byte is wanted */
    BUS_READS_B,      /* the levels of port B, the last byte */
};

struct expander_state {
    uint8_t levels[2];
    uint8_t idle[2]; /* the levels that mean "off" */
    uint8_t ready;   /* 1 once it has been set up */
};

static struct expander_state expander_states[AT_LEAST_ONE(EXPANDER_COUNT)];
static uint8_t expander_now; /* the expander that the round is at */
static uint8_t set_up_bytes; /* sent to it */
static uint8_t levels_a;     /* of the expander that is being read */
static uint8_t bus_moved;    /* 1 when the bus has done a step since the last round was due */
static uint8_t bus_ticks;
uint8_t bus_step;
uint16_t expander_failures;
uint16_t expander_late_rounds;

static void count_up(uint16_t *counter)
{
    if (*counter != UINT16_MAX) {
        (*counter)++;
    }
}

static void expander_go_idle(struct expander_state *expander)
{
    expander->levels[0] = expander->idle[0];
    expander->levels[1] = expander->idle[1];
    expander->ready = 0;
}

/* A contact that is off reads as its lane's reversed bits do. */
static void idle_levels_begin(const struct run *run)
{
    struct expander_state *expander = &expander_states[flash_read_byte(&run->where)];
    uint8_t port = flash_read_byte(&run->first_place);
    uint8_t lane = flash_read_byte(&run->first_lane);
    for (uint8_t left = flash_read_byte(&run->lane_count); left != 0; left--) {
        expander->idle[port++] = lane_states[lane++].invert;
    }
}

void expanders_begin(void)
{
    for (uint8_t i = 0; i != RUN_COUNT; i++) {
        if (flash_read_byte(&run_table[i].source) == SOURCE_EXPANDER) {
            idle_levels_begin(&run_table[i]);
        }
    }
    for (uint8_t i = 0; i != EXPANDER_COUNT; i++) {
        expander_go_idle(&expander_states[i]);
    }
    bus_step = BUS_RESTS;
    bus_moved = 0;
    bus_ticks = 0;
    expander_failures = 0;
    expander_late_rounds = 0;
}

uint8_t expander_read(uint8_t expander, uint8_t port)
{
    return expander_states[expander].levels[port];
}

static uint8_t expander_address(uint8_t direction)
{
    return (uint8_t)(flash_read_byte(&expander_table[expander_now]) << 1) | direction;
}

/* Behind an expander, read or not: the next one with a repeated start, or the end of the round. */
static void round_go_on(void)
{
    if (++expander_now != EXPANDER_COUNT) {
        port_bus_start();
        bus_step = BUS_STARTS;
    } else {
        port_bus_stop();
        bus_step = BUS_RESTS;
    }
}

static void send(uint8_t byte, uint8_t next)
{
    port_bus_write(byte);
    bus_step = next;
}

/* Sends the next setting; behind the last one the expander may be read from the next round on. */
static void set_up_go_on(struct expander_state *expander)
{
    uint8_t at = set_up_bytes++;
    if (at == SET_UP_BYTES) {
        expander->ready = 1;
        round_go_on();
        return;
    }
    uint8_t is_input_setting = at <= REGISTER_IODIRA + 1 || at >= REGISTER_GPPUA;
    send(is_input_setting ? INPUTS : 0, BUS_SETS_UP);
}

static void point_at_register(const struct expander_state *expander)
{
    set_up_bytes = 0;
    send(expander->ready ? REGISTER_GPIOA : REGISTER_IODIRA, BUS_POINTS);
}

static void take(uint8_t more, uint8_t next)
{
    port_bus_take(more);
    bus_step = next;
}

static void expander_go_on(struct expander_state *expander)
{
    switch (bus_step) {
    case BUS_STARTS:
        send(expander_address(0), BUS_ADDRESSES);
        break;
    case BUS_ADDRESSES:
        point_at_register(expander);
        break;
    case BUS_POINTS:
        if (expander->ready) {
            port_bus_start();
            bus_step = BUS_TURNS_ROUND;
            break;
        }
        set_up_go_on(expander);
        break;
    case BUS_SETS_UP:
        set_up_go_on(expander);
        break;
    case BUS_TURNS_ROUND:
        send(expander_address(READING), BUS_READDRESSES);
        break;
    case BUS_READDRESSES:
        take(1, BUS_READS_A);
        break;
    case BUS_READS_A:
        levels_a = port_bus_byte();
        take(0, BUS_READS_B);
        break;
    default:
        expander->levels[0] = levels_a;
        expander->levels[1] = port_bus_byte();
        round_go_on();
        break;
    }
}

void expanders_step(void)
{
    struct expander_state *expander = &expander_states[expander_now];
    bus_moved = 1;
    if (port_bus_went_well()) {
        expander_go_on(expander);
        return;
    }
    expander_go_idle(expander);
    count_up(&expander_failures);
    round_go_on();
}

/* A bus on which nothing has moved for a whole period: the rest of its round is given up.  The board also clocks once
 * whoever still holds the bus, so that a device that was left in the middle of a byte lets go within nine periods. */
static void round_give_up(void)
{
    port_bus_release();
    for (; expander_now != EXPANDER_COUNT; expander_now++) {
        expander_go_idle(&expander_states[expander_now]);
        count_up(&expander_failures);
    }
    bus_step = BUS_RESTS;
}

static void round_begin(void)
{
    expander_now = 0;
    port_bus_start();
    bus_step = BUS_STARTS;
}

/* A round that has not ended goes on, unless it stands still; the scan then takes what was read before. */
void expanders_tick(void)
{
    if (EXPANDER_COUNT == 0 || (bus_ticks++ & (BUS_PERIOD_TICKS - 1)) != 0) {
        return;
    }
    uint8_t rests = bus_step == BUS_RESTS && port_bus_is_free();
    if (!rests) {
        count_up(&expander_late_rounds);
        if (!bus_moved) {
            round_give_up();
            rests = 1;
        }
    }
    bus_moved = 0;
    if (rests) {
        round_begin();
    }
}

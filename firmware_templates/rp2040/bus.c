#include "bus.h"

#include "pins.h"
#include "port.h"
#include "registers.h"
#include "table_checks.h"

#define PERIOD_COUNTS (F_CPU / (BUS_KHZ * 1000u))
#define LOW_COUNTS (PERIOD_COUNTS * 3u / 5u) /* low for longer than high, as the bus wants it (NXP UM10204, table 10) */
#define HIGH_COUNTS (PERIOD_COUNTS - LOW_COUNTS)
#define SPIKE_COUNTS (LOW_COUNTS / 16u)
#define HALF_US 5u /* of a clock period by hand; the bus wants 4.7 us (NXP UM10204, table 10, standard mode) */
#define HOLD_COUNTS (F_CPU * 3u / 10000000u + 1u) /* 300 ns (NXP UM10204, table 10) */

enum bus_order {
    BUS_NOTHING = 0,
    BUS_START, /* a start; the next byte is an address */
    BUS_TURN,  /* another device; its address waits until the bus is free */
    BUS_WRITE,
    BUS_TAKE,
    BUS_STOP,
};

static uint8_t bus_order;       /* enum bus_order: what is being done */
static uint8_t bus_held;        /* the byte that is held back */
static uint8_t bus_holds;       /* 1 while there is one */
static uint8_t bus_target;      /* the device of the transfer; 0 for none */
static uint8_t bus_next_target; /* BUS_TURN: the device that comes next */
static uint32_t bus_restart;    /* I2C_CMD_RESTART when the next byte turns the transfer round */

void bus_begin(void)
{
    bus_order = BUS_NOTHING;
    bus_holds = 0;
    bus_target = 0;
    if (EXPANDER_COUNT == 0) {
        return;
    }
    I2C1_ENABLE = 0;
    I2C1_CON = I2C_CON_MASTER | I2C_CON_FAST | I2C_CON_RESTARTS | I2C_CON_NO_SLAVE;
    I2C1_FS_SCL_LCNT = LOW_COUNTS;
    I2C1_FS_SCL_HCNT = HIGH_COUNTS;
    I2C1_FS_SPKLEN = SPIKE_COUNTS;
    I2C1_SDA_HOLD = HOLD_COUNTS;
    IO_GPIO_CTRL(PIN_BUS_DATA) = FUNCTION_I2C;
    IO_GPIO_CTRL(PIN_BUS_CLOCK) = FUNCTION_I2C;
}

static void held_go(uint32_t with)
{
    if (bus_holds) {
        I2C1_DATA_CMD = bus_held | with;
        bus_holds = 0;
    }
}

/* The port takes a device's address only while it is switched off. */
static void target_take(uint8_t target)
{
    I2C1_ENABLE = 0;
    I2C1_TAR = target;
    I2C1_ENABLE = I2C_ENABLE_ON;
    bus_target = target;
    bus_restart = 0;
}

void port_bus_start(void)
{
    bus_order = BUS_START;
}

/* Behind a start: the same device read from is the same transfer turned round; all else is a transfer of its own. */
static void address_write(uint8_t byte)
{
    uint8_t target = byte >> 1;
    if ((byte & 1u) != 0 && target == bus_target) {
        held_go(0);
        bus_restart = I2C_CMD_RESTART;
        bus_order = BUS_NOTHING;
        return;
    }
    held_go(I2C_CMD_STOP);
    bus_next_target = target;
    bus_order = BUS_TURN;
}

void port_bus_write(uint8_t byte)
{
    if (bus_order == BUS_START) {
        address_write(byte);
        return;
    }
    held_go(0);
    bus_held = byte;
    bus_holds = 1;
    bus_order = BUS_WRITE;
}

void port_bus_take(uint8_t more)
{
    I2C1_DATA_CMD = I2C_CMD_READ | bus_restart | (more ? 0 : I2C_CMD_STOP);
    bus_restart = 0;
    bus_order = BUS_TAKE;
}

void port_bus_stop(void)
{
    held_go(I2C_CMD_STOP);
    bus_target = 0;
    bus_order = BUS_STOP;
}

/* A device that was left in the middle of a byte lets go after nine clocks at most (NXP UM10204, bus clear).  The pin's
 * own output rests low, see pins_begin: it is an output for half a period, and never drives high. */
static void bus_clock_once(void)
{
    IO_GPIO_CTRL(PIN_BUS_CLOCK) = FUNCTION_SIO;
    SIO_GPIO_OE_SET = 1u << PIN_BUS_CLOCK;
    port_wait_us(HALF_US);
    SIO_GPIO_OE_CLR = 1u << PIN_BUS_CLOCK;
    port_wait_us(HALF_US);
}

void port_bus_release(void)
{
    I2C1_ENABLE = I2C_ENABLE_ABORT;
    I2C1_ENABLE = 0;
    if (!(SIO_GPIO_IN & 1u << PIN_BUS_DATA)) {
        bus_clock_once();
    }
    bus_begin();
}

uint8_t port_bus_is_free(void)
{
    return (I2C1_STATUS & (I2C_STATUS_MASTER | I2C_STATUS_EMPTY)) == I2C_STATUS_EMPTY;
}

static uint8_t bus_has_failed(void)
{
    return (I2C1_RAW_INTR_STAT & I2C_INTR_ABORTED) != 0;
}

static uint8_t turn_is_done(void)
{
    if (!port_bus_is_free()) {
        return 0;
    }
    target_take(bus_next_target);
    return 1;
}

uint8_t port_bus_is_done(void)
{
    switch (bus_order) {
    case BUS_TURN:
        return turn_is_done();
    case BUS_WRITE:
        return bus_has_failed() || (I2C1_STATUS & I2C_STATUS_EMPTY) != 0;
    case BUS_TAKE:
        return bus_has_failed() || I2C1_RXFLR != 0;
    default:
        return 1;
    }
}

/* A transfer that failed was given up by the port itself, with a stop; reading the register lets it go on. */
uint8_t port_bus_went_well(void)
{
    if (!bus_has_failed()) {
        return 1;
    }
    (void)I2C1_CLR_TX_ABRT;
    bus_holds = 0;
    bus_target = 0;
    return 0;
}

uint8_t port_bus_byte(void)
{
    return (uint8_t)I2C1_DATA_CMD;
}

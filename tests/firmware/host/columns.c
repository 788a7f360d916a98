#include "columns.h"

#include <assert.h>
#include <string.h>

#include "board.h"
#include "port.h"

#define PARTS_OF_US 16          /* steps of the reckoning in a microsecond */
#define FULL 1000000            /* the supply */
#define LOW_BELOW (FULL / 10 * 3)
#define HIGH_FROM (FULL / 10 * 6) /* input levels of an ATmega2560, data sheet */
#define TO_HIGH_PERMILLE 916    /* ln(1 / (1 - 0.6)): rising from 0 to that level takes this part of R times C */
#define TO_LOW_PERMILLE 1204    /* ln(1 / 0.3): falling from the supply to the other */

enum row_pin { ROW_FLOATS = 0, ROW_LOW, ROW_HIGH };

static uint8_t row_pins[HOST_ROWS];
static uint8_t driven_columns[HOST_PORTS];
static int32_t volts[HOST_PORTS][8];
uint32_t host_columns_between;
uint32_t host_columns_fights;

void host_columns_begin(void)
{
    memset(row_pins, 0, sizeof row_pins);
    memset(driven_columns, 0, sizeof driven_columns);
    host_columns_rest();
    host_columns_between = 0;
    host_columns_fights = 0;
}

/* The slowest of the rows that a column belongs to decides how slow it is. */
static int32_t slowest(uint8_t port, size_t which)
{
    int32_t found = 0;
    for (int i = 0; i < HOST_ROWS; i++) {
        const struct host_row *row = &host_rows[i];
        const uint8_t times[3] = {row->settle_us, row->rise_us, row->charge_us};
        if (row->mask != 0 && row->columns == port && times[which] > found) {
            found = times[which];
        }
    }
    return found;
}

/* What is joined to a column by held keys: bit 0 a low row, bit 1 one that is driven high through a shorted diode. */
static uint8_t joined(uint8_t port, int bit)
{
    uint8_t found = 0;
    for (int i = 0; i < HOST_ROWS; i++) {
        const struct host_row *row = &host_rows[i];
        uint8_t held = row->mask != 0 && row->columns == port && ((row->closed >> bit) & 1u);
        if (held && row_pins[i] == ROW_LOW) {
            found |= 1u;
        }
        if (held && row_pins[i] == ROW_HIGH && ((row->shorted >> bit) & 1u)) {
            found |= 2u;
        }
    }
    return found;
}

/* One step towards a level: the part of the way that R times C allows. */
static int32_t step(int32_t from, int32_t to, int32_t time_us, int32_t permille)
{
    int64_t steps = (int64_t)time_us * PARTS_OF_US * 1000 / permille;
    return steps <= 1 ? to : from + (int32_t)((to - from) / steps);
}

static void column_step(uint8_t port, int bit)
{
    int32_t *level = &volts[port][bit];
    uint8_t ways = joined(port, bit);
    uint8_t driven = (driven_columns[port] & (1u << bit)) != 0;
    if (ways == 3 || (ways == 1 && driven)) {
        host_columns_fights++;
        *level = FULL / 2;
    } else if (ways == 1) {
        *level = step(*level, 0, slowest(port, 0), TO_LOW_PERMILLE);
    } else {
        *level = step(*level, FULL, slowest(port, driven ? 2 : 1), TO_HIGH_PERMILLE);
    }
}

static int has_columns(uint8_t port)
{
    int found = 0;
    for (int i = 0; i < HOST_ROWS; i++) {
        found |= host_rows[i].mask != 0 && host_rows[i].columns == port;
    }
    return found;
}

void host_columns_wait(uint8_t us)
{
    for (uint8_t port = 0; port < HOST_PORTS; port++) {
        if (!has_columns(port)) {
            continue;
        }
        for (int part = 0; part < us * PARTS_OF_US; part++) {
            for (int bit = 0; bit < 8; bit++) {
                column_step(port, bit);
            }
        }
    }
}

void host_columns_rest(void)
{
    for (int port = 0; port < HOST_PORTS; port++) {
        for (int bit = 0; bit < 8; bit++) {
            volts[port][bit] = FULL;
        }
    }
}

uint8_t host_columns_low(uint8_t port)
{
    uint8_t low = 0;
    for (int bit = 0; bit < 8; bit++) {
        if (volts[port][bit] <= LOW_BELOW) {
            low |= (uint8_t)(1u << bit);
        } else if (volts[port][bit] < HIGH_FROM) {
            host_columns_between++;
        }
    }
    return low;
}

static void rows_set(uint8_t port, uint8_t mask, uint8_t state)
{
    for (int i = 0; i < HOST_ROWS; i++) {
        if (host_rows[i].mask != 0 && host_rows[i].port == port && (host_rows[i].mask & mask)) {
            row_pins[i] = state;
        }
    }
}

void host_columns_output(uint8_t port, uint8_t mask, uint8_t high)
{
    rows_set(port, mask, high ? ROW_HIGH : ROW_LOW);
}

void port_row_drive(uint8_t port, uint8_t mask)
{
    rows_set(port, mask, ROW_LOW);
}

void port_row_release(uint8_t port, uint8_t mask)
{
    rows_set(port, mask, ROW_FLOATS);
}

void port_columns_drive(uint8_t port, uint8_t mask)
{
    driven_columns[port] |= mask;
}

void port_columns_release(uint8_t port, uint8_t mask)
{
    driven_columns[port] &= (uint8_t)~mask;
}

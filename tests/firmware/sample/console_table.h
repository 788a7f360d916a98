/* A small console for tests, written by hand: every source, both families, every duty, every kind of shoe.
 *
 * lane 0-1  chain registers 0-1   keys      first edge, hold-off 4
 * lane 2    chain register 2      keys      counted, 2 to press and 5 to release; bit 7 unused
 * lane 3    chain register 4      stops     counted, 3 each way, every second tick (register 3 is not fitted)
 * lane 4    chain register 5      stages    of shoe 1 (progressive, 6 stages)
 * lane 5    chain register 6      stages    of shoe 2 (selective, 4 stages)
 * lane 6-7  matrix 0 rows 0-1     keys      first edge, hold-off 3
 * lane 8    port A                pistons   counted, 2 each way, every second tick
 */
#define TABLE_FORMAT_OF_FILE 3
#define LANE_COUNT 9
#define RUN_COUNT 7
#define GROUP_COUNT 7
#define MATRIX_COUNT 1
#define BANK_COUNT 0
#define EXPANDER_COUNT 0
#define LISTEN_PORTS 0
#define LISTEN_STROBE_PORT 0
#define LISTEN_STROBES 1
#define LISTEN_ACTIVE_LOW 0
#define LISTEN_SETTLE_US 0
#define LISTEN_SILENT_TICKS 1
#define SHOE_COUNT 3
#define STAGE_ROWS 10
#define LADDER_ROWS 0
#define CONVERTER_BITS 10
#define CHANNEL_COUNT 3
#define REGISTER_COUNT 7
#define HOLD_SLOTS 32
#define COUNTER_PLANES 3
#define TICK_US 250
#define SPI_DIVIDER 8
#define BUS_KHZ 100
#define BUS_PERIOD_TICKS 1
#define POWER_ON_TICKS 40
#define SHOE_INTERVAL_TICKS 40
#define RUNNING_STATUS 1
#define REPORT_HELD 1
#define MIDI_WIRE 1
#define MIDI_USB 0
#define LISTEN_STOPS 0
#define PANIC_PISTONS 1
#define PANIC_FIRST 70
#define PANIC_SECOND 71
#define JOB_DESCRIPTION_BYTES 0
#define LINK 1
#define CAPTURE_LANES 2
#define REMAP_ROWS 4

#include "table_shape.h"

#ifdef CONSOLE_TABLE_BODY

const struct run run_table[] TABLE_IN_FLASH = {
    {SOURCE_CHAIN, 0, 0, 2, 0, 0}, {SOURCE_CHAIN, 0, 2, 1, 1, 2},  {SOURCE_CHAIN, 0, 3, 1, 2, 4},
    {SOURCE_CHAIN, 0, 4, 1, 3, 5}, {SOURCE_CHAIN, 0, 5, 1, 4, 6},  {SOURCE_MATRIX, 0, 6, 2, 5, 0},
    {SOURCE_PORT, 0, 8, 1, 6, 0},
};

const struct group group_table[] TABLE_IN_FLASH = {
    {FAMILY_FIRST_EDGE, 1, 1, 4, 0, 0, DUTY_NOTES, 0, 0, 16},
    {FAMILY_COUNTED, 2, 5, 1, 0, 0, DUTY_NOTES, 0, 0, 0},
    {FAMILY_COUNTED, 3, 3, 1, 1, 0, DUTY_STOPS, 0, 0, 0},
    {FAMILY_COUNTED, 2, 2, 1, 0, 0, DUTY_STAGES, 1, 0, 0},
    {FAMILY_COUNTED, 2, 2, 1, 0, 0, DUTY_STAGES, 2, 0, 0},
    {FAMILY_FIRST_EDGE, 1, 1, 3, 0, 0, DUTY_NOTES, 0, 16, 16},
    {FAMILY_COUNTED, 2, 2, 1, 1, 1, DUTY_PISTONS, 0, 0, 0},
};

const struct lane lane_table[] TABLE_IN_FLASH = {
    {0xFF, 0xFF}, {0xFF, 0xFF}, {0x7F, 0xFF}, {0xFF, 0xFF}, {0x3F, 0xFF},
    {0x0F, 0xFF}, {0xFF, 0xFF}, {0xFF, 0xFF}, {0xFF, 0x0F}, /* the low half of port A reads low when on */
};

#define KEY(channel, note) {{0x90 | (channel), note, 100}, {0x80 | (channel), note, 64}}
#define STOP(controller) {{0xB2, controller, 127}, {0xB2, controller, 0}}
#define PISTON(program) {{0xC3, program, 0}, {0, 0, 0}}
#define SILENT {{0, 0, 0}, {0, 0, 0}}
#define EIGHT_KEYS(channel, note) \
    KEY(channel, note), KEY(channel, (note) + 1), KEY(channel, (note) + 2), KEY(channel, (note) + 3), \
        KEY(channel, (note) + 4), KEY(channel, (note) + 5), KEY(channel, (note) + 6), KEY(channel, (note) + 7)
#define EIGHT_SILENT SILENT, SILENT, SILENT, SILENT, SILENT, SILENT, SILENT, SILENT

const struct message message_table[] TABLE_IN_FLASH = {
    EIGHT_KEYS(0, 36), EIGHT_KEYS(0, 44), EIGHT_KEYS(1, 36),
    STOP(20), STOP(21), STOP(22), STOP(23), STOP(24), STOP(25), STOP(26), STOP(27),
    EIGHT_SILENT, EIGHT_SILENT,
    EIGHT_KEYS(4, 60), EIGHT_KEYS(4, 68),
    PISTON(0), PISTON(1), PISTON(2), PISTON(3), PISTON(4), PISTON(5), PISTON(6), PISTON(7),
};

const struct matrix matrix_table[] TABLE_IN_FLASH = {{2, 2, {10, 10}, {0x01, 0x02}, 10, DRIVE_FLOATING, 0, 0xFF}};
const struct bank bank_table[] TABLE_IN_FLASH = {{0, 0, {0}, {0}, 0}};
const uint8_t expander_table[] TABLE_IN_FLASH = {0};
const struct listened listen_table[] TABLE_IN_FLASH = {{0, 0}};

const struct shoe shoe_table[] TABLE_IN_FLASH = {
    {SHOE_CONVERTER, 9, 0xB0, 11, 0, 0, 0, 3, 0, 1023, 3, {100, 500, 900}, {0, 32, 127}},
    {SHOE_PROGRESSIVE, 0, 0xB1, 16, 0, 6, 0, 0, 0, 0, 0, {0}, {0}},
    {SHOE_SELECTIVE, 0, 0xB1, 17, 0, 4, 6, 0, 0, 0, 0, {0}, {0}},
};

const uint16_t stage_table[] TABLE_IN_FLASH = {32, 33, 34, 35, 36, 37, 40, 41, 42, 43};

const struct ladder_step ladder_table[] TABLE_IN_FLASH = {{0, 0}};

const uint8_t channel_table[] TABLE_IN_FLASH = {0, 1, 4};

const char job_name[] TABLE_IN_FLASH = "sample";
const char job_digest[] TABLE_IN_FLASH = "none";
const char job_revision[] TABLE_IN_FLASH = "0";
const uint8_t job_description[] TABLE_IN_FLASH = {0};

#endif

/* Refuses, while compiling, a table whose sizes this core cannot hold.
 *
 * A size that does not fit makes an array type of negative length; its name says what is wrong.
 */
#ifndef TABLE_CHECKS_H
#define TABLE_CHECKS_H

#include "console_table.h"

#if TICK_US != 125 && TICK_US != 250 && TICK_US != 500 && TICK_US != 1000 && TICK_US != 2000
#error "TICK_US must be 125, 250, 500, 1000 or 2000 microseconds."
#endif
#if SPI_DIVIDER != 2 && SPI_DIVIDER != 4 && SPI_DIVIDER != 8 && SPI_DIVIDER != 16 && SPI_DIVIDER != 32 && \
    SPI_DIVIDER != 64 && SPI_DIVIDER != 128 && SPI_DIVIDER != 256
#error "SPI_DIVIDER must be 2, 4, 8, 16, 32, 64, 128 or 256."
#endif
#if BUS_KHZ != 100 && BUS_KHZ != 400
#error "BUS_KHZ must be 100 or 400."
#endif
#if BUS_PERIOD_TICKS < 1 || BUS_PERIOD_TICKS > 64 || (BUS_PERIOD_TICKS & (BUS_PERIOD_TICKS - 1)) != 0
#error "BUS_PERIOD_TICKS must be a power of two of at most 64."
#endif
#if RUNNING_STATUS != 0 && RUNNING_STATUS != 1
#error "RUNNING_STATUS must be 0 or 1."
#endif
#if REPORT_HELD != 0 && REPORT_HELD != 1
#error "REPORT_HELD must be 0 or 1."
#endif
#if (MIDI_WIRE != 0 && MIDI_WIRE != 1) || (MIDI_USB != 0 && MIDI_USB != 1) || MIDI_WIRE + MIDI_USB == 0
#error "MIDI_WIRE and MIDI_USB must be 0 or 1, and one of them 1."
#endif
#if LISTEN_STOPS != 0 && LISTEN_STOPS != 1
#error "LISTEN_STOPS must be 0 or 1."
#endif
#if PANIC_PISTONS != 0 && PANIC_PISTONS != 1
#error "PANIC_PISTONS must be 0 or 1."
#endif

#if LISTEN_ACTIVE_LOW != 0 && LISTEN_ACTIVE_LOW != 1
#error "LISTEN_ACTIVE_LOW must be 0 or 1."
#endif
#if LINK != 0 && LINK != 1
#error "LINK must be 0 or 1."
#endif
#if CAPTURE_LANES < 0 || CAPTURE_LANES > 31
#error "CAPTURE_LANES must be 0 to 31."
#endif
#if REMAP_ROWS < 0 || REMAP_ROWS > 32
#error "REMAP_ROWS must be 0 to 32."
#endif
#if !LINK && (CAPTURE_LANES || REMAP_ROWS)
#error "CAPTURE_LANES and REMAP_ROWS must be 0 where LINK is 0."
#endif
#if JOB_DESCRIPTION_BYTES < 0 || JOB_DESCRIPTION_BYTES > 60000
#error "JOB_DESCRIPTION_BYTES must be 0 to 60000."
#endif

#define TABLE_CHECK(name, condition) typedef char name[(condition) ? 1 : -1]

TABLE_CHECK(lane_count_is_more_than_255, LANE_COUNT >= 0 && LANE_COUNT <= 255);
TABLE_CHECK(run_count_is_more_than_254, RUN_COUNT >= 0 && RUN_COUNT <= 254);
TABLE_CHECK(group_count_is_more_than_255, GROUP_COUNT >= 0 && GROUP_COUNT <= 255);
TABLE_CHECK(matrix_count_is_more_than_11, MATRIX_COUNT >= 0 && MATRIX_COUNT <= 11);
TABLE_CHECK(bank_count_is_more_than_11, BANK_COUNT >= 0 && BANK_COUNT <= 11);
TABLE_CHECK(expander_count_is_more_than_8, EXPANDER_COUNT >= 0 && EXPANDER_COUNT <= 8);
TABLE_CHECK(listen_ports_are_more_than_4, LISTEN_PORTS >= 0 && LISTEN_PORTS <= 4);
TABLE_CHECK(listen_strobes_are_more_than_8, LISTEN_STROBES >= 1 && LISTEN_STROBES <= 8);
TABLE_CHECK(listen_settle_us_is_more_than_255, LISTEN_SETTLE_US >= 0 && LISTEN_SETTLE_US <= 255);
TABLE_CHECK(listen_silent_ticks_are_more_than_65535, LISTEN_SILENT_TICKS >= 1 && LISTEN_SILENT_TICKS <= 65535);
TABLE_CHECK(shoe_count_is_more_than_32, SHOE_COUNT >= 0 && SHOE_COUNT <= 32);
TABLE_CHECK(stage_rows_are_more_than_2048, STAGE_ROWS >= 0 && STAGE_ROWS <= 2048);
TABLE_CHECK(ladder_rows_are_more_than_2048, LADDER_ROWS >= 0 && LADDER_ROWS <= 2048);
TABLE_CHECK(converter_bits_are_not_8_to_16, CONVERTER_BITS >= 8 && CONVERTER_BITS <= 16);
TABLE_CHECK(channel_count_is_more_than_16, CHANNEL_COUNT >= 0 && CHANNEL_COUNT <= 16);
TABLE_CHECK(register_count_is_more_than_255, REGISTER_COUNT >= 0 && REGISTER_COUNT <= 255);
TABLE_CHECK(hold_slots_are_more_than_the_contacts, HOLD_SLOTS >= 0 && HOLD_SLOTS <= LANE_COUNT * 8);
TABLE_CHECK(counter_planes_are_more_than_6, COUNTER_PLANES >= 0 && COUNTER_PLANES <= 6);
TABLE_CHECK(power_on_ticks_are_more_than_1000000, POWER_ON_TICKS >= 0 && POWER_ON_TICKS <= 1000000);
TABLE_CHECK(panic_piston_is_outside_the_lanes,
            !PANIC_PISTONS || (PANIC_FIRST >= 0 && PANIC_FIRST < LANE_COUNT * 8 && PANIC_SECOND >= 0 &&
                               PANIC_SECOND < LANE_COUNT * 8));
TABLE_CHECK(shoe_interval_ticks_are_more_than_65535, SHOE_INTERVAL_TICKS >= 0 && SHOE_INTERVAL_TICKS <= 65535);

/* An array that may be empty keeps one unused element: C knows no array of length 0. */
#define AT_LEAST_ONE(count) ((count) > 0 ? (count) : 1)

#endif

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
    SPI_DIVIDER != 64
#error "SPI_DIVIDER must be 2, 4, 8, 16, 32 or 64."
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

#define TABLE_CHECK(name, condition) typedef char name[(condition) ? 1 : -1]

TABLE_CHECK(lane_count_is_more_than_255, LANE_COUNT >= 0 && LANE_COUNT <= 255);
TABLE_CHECK(run_count_is_more_than_254, RUN_COUNT >= 0 && RUN_COUNT <= 254);
TABLE_CHECK(group_count_is_more_than_255, GROUP_COUNT >= 0 && GROUP_COUNT <= 255);
TABLE_CHECK(matrix_count_is_more_than_11, MATRIX_COUNT >= 0 && MATRIX_COUNT <= 11);
TABLE_CHECK(bank_count_is_more_than_11, BANK_COUNT >= 0 && BANK_COUNT <= 11);
TABLE_CHECK(expander_count_is_more_than_8, EXPANDER_COUNT >= 0 && EXPANDER_COUNT <= 8);
TABLE_CHECK(shoe_count_is_more_than_32, SHOE_COUNT >= 0 && SHOE_COUNT <= 32);
TABLE_CHECK(stage_rows_are_more_than_2048, STAGE_ROWS >= 0 && STAGE_ROWS <= 2048);
TABLE_CHECK(channel_count_is_more_than_16, CHANNEL_COUNT >= 0 && CHANNEL_COUNT <= 16);
TABLE_CHECK(register_count_is_more_than_255, REGISTER_COUNT >= 0 && REGISTER_COUNT <= 255);
TABLE_CHECK(hold_slots_are_more_than_the_contacts, HOLD_SLOTS >= 0 && HOLD_SLOTS <= LANE_COUNT * 8);
TABLE_CHECK(counter_planes_are_more_than_6, COUNTER_PLANES >= 0 && COUNTER_PLANES <= 6);
TABLE_CHECK(power_on_ticks_are_more_than_1000000, POWER_ON_TICKS >= 0 && POWER_ON_TICKS <= 1000000);
TABLE_CHECK(shoe_interval_ticks_are_more_than_65535, SHOE_INTERVAL_TICKS >= 0 && SHOE_INTERVAL_TICKS <= 65535);

/* An array that may be empty keeps one unused element: C knows no array of length 0. */
#define AT_LEAST_ONE(count) ((count) > 0 ? (count) : 1)

#endif

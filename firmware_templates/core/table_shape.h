/* The shape of the generated table: one console, as numbers.
 *
 * `console_table.h` is written by the planner; everything else in the sketch folder is written by hand and compiled
 * as it stands.  The generated file defines the sizes (LANE_COUNT and so on) and TABLE_FORMAT_OF_FILE, then includes
 * this header, then gives the tables themselves where CONSOLE_TABLE_BODY is defined (in tables.c alone).  A table of
 * another format cannot be compiled with this core.
 *
 * Words: a lane is eight contacts sampled as one byte (a chain register, a matrix row, a whole port, the commons of a
 * bank of multiplexers with one input selected, a port of an expander, a port of returns at one strobe).  A run is a row of consecutive lanes of one
 * group from one source.  Lanes are numbered in reading order.
 */
#ifndef TABLE_SHAPE_H
#define TABLE_SHAPE_H

#include <stdint.h>

#include "flash.h" /* TABLE_IN_FLASH: `const struct run run_table[] TABLE_IN_FLASH = {` and so on for every table */

#define TABLE_FORMAT 3
#if TABLE_FORMAT_OF_FILE != TABLE_FORMAT
#error "The generated table and the firmware core have different formats: write the sketch folder again."
#endif

enum source { SOURCE_CHAIN = 0, SOURCE_MATRIX = 1, SOURCE_PORT = 2, SOURCE_MULTIPLEXER = 3, SOURCE_EXPANDER = 4,
              SOURCE_LISTEN = 5 };

enum family { FAMILY_FIRST_EDGE = 0, FAMILY_COUNTED = 1, FAMILY_INTEGRATOR = 2 };

/* What becomes of a group's changes; the order is the order of urgency on the wire. */
enum duty { DUTY_NOTES = 0, DUTY_PISTONS = 1, DUTY_STOPS = 2, DUTY_STAGES = 3 };

/* One run of lanes, in reading order. */
struct run {
    uint8_t source;     /* enum source */
    uint8_t where;      /* index from 0 of the matrix, bank, expander or port of returns; the port's index in the
                           board's port list; 0 for the chain */
    uint8_t first_lane; /* lane number of the first lane */
    uint8_t lane_count; /* 1 to 255 */
    uint8_t group;      /* index into group_table */
    uint8_t first_place; /* register, row, selected input, port (A is 0, B is 1) or strobe of the first lane; 0 for a
                            port */
};

/* One group: how its lanes are sampled and what becomes of a change. */
struct group {
    uint8_t family;        /* enum family */
    uint8_t press_count;   /* FAMILY_COUNTED: samples in a row for on; FAMILY_INTEGRATOR: lead of on; 1 to 63 */
    uint8_t release_count; /* the same for off */
    uint8_t hold_count;    /* FAMILY_FIRST_EDGE: sample this many after a change is compared again, 1 to 255 */
    uint8_t divider_log2;  /* sampled every 2^n ticks, 0 to 6 */
    uint8_t phase;         /* sampled when (tick mod 2^n) == phase */
    uint8_t duty;          /* enum duty */
    uint8_t shoe;          /* DUTY_STAGES: index into shoe_table */
    uint16_t hold_first;   /* FAMILY_FIRST_EDGE: first slot of this group's ring of hold-offs */
    uint16_t hold_slots;   /* and how many slots it has: the number of the group's contacts */
};

/* One lane. */
struct lane {
    uint8_t used;   /* bits that belong to a point that takes part */
    uint8_t invert; /* exclusive-ored with the byte read, so that "on" reads 1 */
};

/* One contact's messages; a status of 0 means that nothing is sent.  Program change has one data byte. */
struct message {
    uint8_t on[3];
    uint8_t off[3];
};

/* What becomes of the rows of a matrix that are not being read: they float, or they are driven high. */
enum drive { DRIVE_FLOATING = 0, DRIVE_PUSH_PULL = 1 };

/* One matrix of the board's own pins. */
struct matrix {
    uint8_t column_port;   /* index in the board's port list */
    uint8_t row_count;     /* 1 to 8 */
    uint8_t row_port[8];   /* per row: index in the board's port list */
    uint8_t row_mask[8];   /* per row: the pin's bit in that port */
    uint8_t settle_us;     /* wait after driving a row before reading the columns */
    uint8_t drive;         /* enum drive */
    uint8_t precharge_us;  /* the columns are driven high for so long behind each row; 0: left to their pull-ups */
    uint8_t column_mask;   /* bits of the column port that are columns */
};

/* One bank of up to eight multiplexers: their commons are the bits of one port, and they share their select lines. */
struct bank {
    uint8_t common_port;    /* index in the board's port list */
    uint8_t select_count;   /* 3 or 4 */
    uint8_t select_port[4]; /* per line, lowest first: index in the board's port list */
    uint8_t select_mask[4]; /* per line: the pin's bit in that port */
    uint8_t settle_us;      /* wait after selecting an input before reading the commons */
};

/* One port of returns of a keyboard that the organ scans; see listen.h. */
struct listened {
    uint8_t port; /* index in the board's port list */
    uint8_t bits; /* pins that returns are joined to: inputs without a pull-up */
};

enum shoe_kind {
    SHOE_CONVERTER = 0,   /* analogue converter through the curve */
    SHOE_PROGRESSIVE = 1, /* highest k such that at least k-1 of the k lower stages are on */
    SHOE_SELECTIVE = 2,   /* highest stage that is on; none on keeps the last value */
    SHOE_LADDER = 3       /* stretches of one converter channel, see ladder.h */
};

#define CURVE_POINTS 8

/* One shoe.  The curve maps converter counts (rising) to values; it is held flat outside. */
struct shoe {
    uint8_t kind;              /* enum shoe_kind */
    uint8_t converter;         /* SHOE_CONVERTER and SHOE_LADDER: channel */
    uint8_t status;            /* control change status byte with channel */
    uint8_t controller;        /* 0 to 119; with a fine half 0 to 31 */
    uint8_t fine;              /* SHOE_CONVERTER: 1 when values have 14 bits, the lower 7 sent as controller + 32 */
    uint8_t stage_count;       /* stepped kinds: number of stages, 2 to 64; SHOE_LADDER: of stretches, 2 to 64 */
    uint16_t first_stage;      /* stepped kinds: row of stage_table of stage 1; SHOE_LADDER: first row of ladder_table */
    uint8_t hysteresis;        /* SHOE_CONVERTER: counts that a reading must leave the last one by;
                                  SHOE_LADDER: readings in a row that must lie in a stretch */
    uint16_t lowest;           /* SHOE_CONVERTER and SHOE_LADDER: readings below are those of a broken wire */
    uint16_t highest;          /* and readings above as well */
    uint8_t curve_count;       /* SHOE_CONVERTER: 2 to CURVE_POINTS */
    uint16_t curve_counts[CURVE_POINTS];
    uint16_t curve_values[CURVE_POINTS];
};

/* In place of a value: a stretch of readings that keeps the last one, as between two contacts of which none is made. */
#define LADDER_KEEP 0xFFu

/* One stretch of a ladder's readings, which begins behind the stretch before it. */
struct ladder_step {
    uint16_t last; /* greatest count of the stretch */
    uint8_t value; /* 0 to 127, or LADDER_KEEP */
};

extern const struct run run_table[];
extern const struct group group_table[];
extern const struct lane lane_table[];
extern const struct message message_table[]; /* LANE_COUNT * 8 rows, row = lane * 8 + bit */
extern const struct matrix matrix_table[];
extern const struct bank bank_table[];
extern const uint8_t expander_table[]; /* device addresses on the bus, without the direction bit */
extern const struct listened listen_table[];
extern const struct shoe shoe_table[];
extern const uint16_t stage_table[];  /* for each stage of each stepped shoe: lane * 8 + bit */
extern const struct ladder_step ladder_table[]; /* for each shoe on a ladder: its stretches, rising */
extern const uint8_t channel_table[]; /* channels (0-15) that carry notes: silenced at the start */
extern const char job_name[];         /* user's own words, escaped */
extern const char job_digest[];
extern const char job_revision[];        /* names the whole job with its remarks, where the digest names what it does */
extern const uint8_t job_description[]; /* JOB_DESCRIPTION_BYTES of the packed job, read back by whoever asks the board */

#endif

#include "remap_store.h"

#include "crc16.h"
#include "link_about.h"
#include "link_bytes.h"
#include "link_words.h"
#include "port.h"
#include "remap.h"

#if LINK

uint16_t remap_store_writes;

#if REMAP_ROWS

/* Places of the parts in a record. */
#define AT_DIGEST 2
#define DIGEST_BYTES 8
#define AT_COUNT (AT_DIGEST + DIGEST_BYTES)
#define AT_ROWS (AT_COUNT + 1)
#define ROW_BYTES 4
#define AT_CHECK (AT_ROWS + REMAP_ROWS * ROW_BYTES)
#define RECORD_BYTES (AT_CHECK + LINK_CHECK_BYTES)
#define ALL_PLACES (PORT_STORE_SIZE / RECORD_BYTES)
#define PLACES (ALL_PLACES > 255 ? 255 : ALL_PLACES)

TABLE_CHECK(remap_rows_do_not_fit_the_store_twice, PLACES >= 2);
TABLE_CHECK(remap_record_is_longer_than_255_bytes, RECORD_BYTES <= 255);

#define ERASED 0xFFu /* no number of rows: a place that was never written is passed at once */
#define READ_AT_ONCE 8 /* bytes a tick, so that a scan at the start is hardly longer than others */

enum work { WORK_NONE = 0, WORK_WRITE = 1, WORK_COMPARE = 2, WORK_READ = 3, WORK_LOAD = 4 };

static uint8_t state;      /* enum link_store; LINK_STORE_WRITING is told by `work` */
static uint8_t foreign;
static uint8_t place;      /* of the newest record, or the last one tried */
static uint16_t sequence;  /* of the newest record */
static uint8_t work;       /* enum work */
static uint8_t reading;    /* place that is being read */
static uint8_t at;         /* byte of the record that comes next; row, while they are loaded */
static uint16_t check;     /* of the bytes before it */
static uint8_t allowed;    /* writings that may still begin */
static uint16_t more_in_s; /* seconds until one more is allowed */

static uint8_t stored(uint8_t which, uint8_t byte)
{
    return port_store_read((uint16_t)(which * (uint16_t)RECORD_BYTES + byte));
}

static uint16_t stored_16(uint8_t which, uint8_t byte)
{
    return (uint16_t)(stored(which, byte) | (uint16_t)(stored(which, (uint8_t)(byte + 1)) << 8));
}

static uint8_t record_is_ours(uint8_t which)
{
    for (uint8_t i = 0; i != DIGEST_BYTES; i++) {
        if (stored(which, (uint8_t)(AT_DIGEST + i)) != link_text_byte(LINK_JOB_DIGEST, i)) {
            return 0;
        }
    }
    return stored(which, AT_COUNT) <= REMAP_ROWS;
}

/* A row that this console could not have is left out, whatever the check says. */
static void row_load(uint8_t byte)
{
    struct remap_row row = {stored_16(place, byte), stored_16(place, (uint8_t)(byte + 2))};
    if (remap_judge(row.contact, row.plays) == 0 && remap_find(row.contact) == LINK_NONE_8) {
        remap_rows[remap_count++] = row;
    }
}

/* Sequence numbers go round: the newer of two is the one that is less than half the way ahead. */
static uint8_t is_newer(uint16_t one, uint16_t other)
{
    return (uint16_t)(one - other - 1u) < 0x7FFFu;
}

static void work_begin(uint8_t what)
{
    work = what;
    at = 0;
    check = CRC16_START;
}

void remap_store_begin(void)
{
    remap_store_writes = 0;
    allowed = REMAP_WRITES_AT_ONCE;
    more_in_s = REMAP_WRITE_EACH_SECONDS;
    state = LINK_STORE_EMPTY;
    foreign = 0;
    place = PLACES - 1;
    sequence = 0;
    reading = 0;
    work_begin(WORK_READ);
}

/* Every record has been looked at: the rows are loaded if the newest valid one is of this job. */
static void read_end(void)
{
    work = WORK_NONE;
    if (state != LINK_STORE_EMPTY) {
        if (record_is_ours(place)) {
            work_begin(WORK_LOAD);
        } else {
            foreign = 1;
            state = LINK_STORE_EMPTY;
        }
    }
}

static void read_next_place(void)
{
    reading++;
    work_begin(WORK_READ);
    if (reading == PLACES) {
        read_end();
    }
}

/* A whole record has been read: it counts if it is valid, and newer than those before it. */
static void record_judge(void)
{
    uint16_t number = stored_16(reading, 0);
    if (check == stored_16(reading, AT_CHECK) && (state == LINK_STORE_EMPTY || is_newer(number, sequence))) {
        state = LINK_STORE_KEPT;
        place = reading;
        sequence = number;
    }
    read_next_place();
}

static void read_on(void)
{
    for (uint8_t left = READ_AT_ONCE; left != 0 && work == WORK_READ; left--) {
        if (at == 0 && stored(reading, AT_COUNT) == ERASED) {
            read_next_place();
        } else if (at == AT_CHECK) {
            record_judge();
        } else {
            check = crc16_step(check, stored(reading, at++));
        }
    }
}

/* One row a tick. */
static void load_on(void)
{
    if (at == stored(place, AT_COUNT)) {
        work = WORK_NONE;
    } else {
        row_load((uint8_t)(AT_ROWS + at * ROW_BYTES));
        at++;
    }
}

void remap_store_second(void)
{
    if (--more_in_s == 0) {
        more_in_s = REMAP_WRITE_EACH_SECONDS;
        if (allowed != REMAP_WRITES_AT_ONCE) {
            allowed++;
        }
    }
}

static uint8_t row_byte(uint8_t i)
{
    const struct remap_row *row = &remap_rows[i / ROW_BYTES];
    if (i / ROW_BYTES >= remap_count) {
        return LINK_NONE_8;
    }
    uint16_t number = (i & 2u) ? row->plays : row->contact;
    return (uint8_t)((i & 1u) ? number >> 8 : number);
}

/* Byte `i` of the record that is being written. */
static uint8_t record_byte(uint8_t i)
{
    if (i >= AT_CHECK) {
        return (uint8_t)(i == AT_CHECK ? check : check >> 8);
    }
    if (i >= AT_ROWS) {
        return row_byte((uint8_t)(i - AT_ROWS));
    }
    if (i == AT_COUNT) {
        return remap_count;
    }
    if (i >= AT_DIGEST) {
        return link_text_byte(LINK_JOB_DIGEST, (uint8_t)(i - AT_DIGEST));
    }
    return (uint8_t)(i == 0 ? sequence : sequence >> 8);
}

uint8_t remap_store_keep(void)
{
    if (work != WORK_NONE) {
        return LINK_BUSY;
    }
    if (state == LINK_STORE_KEPT || (state == LINK_STORE_EMPTY && remap_count == 0)) {
        return 0;
    }
    if (allowed == 0) {
        return LINK_TOO_OFTEN;
    }
    allowed--;
    if (remap_store_writes != UINT16_MAX) {
        remap_store_writes++;
    }
    place = (uint8_t)(place + 1u >= PLACES ? 0 : place + 1u);
    sequence++;
    work_begin(WORK_WRITE);
    return 0;
}

static void work_end(uint8_t outcome)
{
    work = WORK_NONE;
    state = outcome;
    if (outcome == LINK_STORE_KEPT) {
        foreign = 0;
    }
}

/* A byte that is right already is spared. */
static void byte_write(uint8_t byte)
{
    if (stored(place, at) != byte) {
        port_store_write((uint16_t)(place * (uint16_t)RECORD_BYTES + at), byte);
    }
}

static void byte_compare(uint8_t byte)
{
    if (stored(place, at) != byte) {
        work_end(LINK_STORE_FAILED);
    }
}

static void record_done(void)
{
    if (work == WORK_WRITE) {
        port_store_commit();
        work_begin(WORK_COMPARE);
    } else {
        work_end(LINK_STORE_KEPT);
    }
}

/* The next byte of a record is written or compared. */
static void write_on(void)
{
    if (at == RECORD_BYTES) {
        record_done();
        return;
    }
    uint8_t byte = record_byte(at);
    if (work == WORK_WRITE) {
        byte_write(byte);
    } else {
        byte_compare(byte);
    }
    if (at < AT_CHECK) {
        check = crc16_step(check, byte);
    }
    at++;
}

void remap_store_tick(void)
{
    if (work == WORK_NONE || !port_store_is_ready()) {
        return;
    }
    switch (work) {
    case WORK_READ:
        read_on();
        break;
    case WORK_LOAD:
        load_on();
        break;
    default:
        write_on();
        break;
    }
}

uint8_t remap_store_is_reading(void)
{
    return work >= WORK_READ;
}

uint8_t remap_store_is_writing(void)
{
    return work != WORK_NONE;
}

void remap_store_differs(void)
{
    state = LINK_STORE_DIFFERS;
}

uint8_t remap_store_is_foreign(void)
{
    return foreign;
}

uint8_t remap_row_judge(const uint8_t *payload)
{
    return payload[0] < REMAP_ROWS ? 0 : LINK_OUT_OF_RANGE;
}

uint8_t remap_row_answer(uint8_t *payload)
{
    uint8_t row = payload[0];
    uint8_t *end = link_put_8(&payload[1], remap_count);
    end = link_put_8(end, work != WORK_NONE ? LINK_STORE_WRITING : state);
    end = link_put_16(end, row < remap_count ? remap_rows[row].contact : LINK_NONE_16);
    end = link_put_16(end, row < remap_count ? remap_rows[row].plays : LINK_NONE_16);
    return (uint8_t)(end - payload);
}

#else

void remap_store_begin(void)
{
}

uint8_t remap_store_is_reading(void)
{
    return 0;
}

void remap_store_tick(void)
{
}

void remap_store_second(void)
{
}

uint8_t remap_store_keep(void)
{
    return LINK_NOT_HERE;
}

uint8_t remap_store_is_foreign(void)
{
    return 0;
}

uint8_t remap_row_judge(const uint8_t *payload)
{
    (void)payload;
    return LINK_NOT_HERE;
}

uint8_t remap_row_answer(uint8_t *payload)
{
    (void)payload;
    return 0;
}

#endif
#endif

#include "link_about.h"

#include "capture.h"
#include "link_bytes.h"
#include "link_words.h"
#include "port.h"
#include "remap.h"
#include "remap_store.h"
#include "table_checks.h"
#include "uptime.h"

#if LINK

#ifndef PORT_CHIP
#define PORT_CHIP LINK_CHIP_UNKNOWN
#endif

static uint8_t flags(void)
{
    return (uint8_t)((capture_is_on() ? LINK_FLAG_CAPTURING : 0) | (remap_store_is_foreign() ? LINK_FLAG_FOREIGN : 0));
}

/* What the tables say. */
static uint8_t *put_table(uint8_t *at)
{
    at = link_put_8(at, TABLE_FORMAT);
    at = link_put_8(at, PORT_CHIP);
    at = link_put_8(at, flags());
    at = link_put_8(at, LANE_COUNT);
    at = link_put_8(at, RUN_COUNT);
    at = link_put_8(at, GROUP_COUNT);
    at = link_put_8(at, SHOE_COUNT);
    at = link_put_16(at, TICK_US);
    at = link_put_8(at, PORT_COUNTS_PER_US);
    return link_put_8(at, (uint8_t)(MIDI_WIRE | MIDI_USB << 1));
}

uint8_t link_who_answer(uint8_t *payload)
{
    uint8_t *at = put_table(payload);
    at = link_put_16(at, port_free_memory());
    at = link_put_32(at, JOB_DESCRIPTION_BYTES);
    at = link_put_8(at, CAPTURE_LANES);
    at = link_put_8(at, REMAP_ROWS);
    at = link_put_8(at, remap_count);
    at = link_put_8(at, port_restart_cause());
    at = link_put_16(at, port_watchdog_restarts());
    at = link_put_32(at, uptime_s);
    return (uint8_t)(at - payload);
}

static const char *text_of(uint8_t which)
{
    return which == LINK_JOB_NAME ? job_name : which == LINK_JOB_DIGEST ? job_digest : job_revision;
}

uint8_t link_text_byte(uint8_t which, uint16_t at)
{
    const char *text = text_of(which);
    return at < flash_read_word(&link_text_sizes[which]) ? flash_read_byte((const uint8_t *)text + at) : 0;
}

uint8_t link_text_judge(const uint8_t *payload)
{
    return payload[0] <= LINK_JOB_REVISION ? 0 : LINK_OUT_OF_RANGE;
}

/* Copies what there is of `most` bytes from flash; returns the place behind them. */
static uint8_t *put_flash(uint8_t *at, const uint8_t *from, uint32_t there, uint8_t most)
{
    for (uint8_t left = there < most ? (uint8_t)there : most; left != 0; left--) {
        at = link_put_8(at, flash_read_byte(from++));
    }
    return at;
}

uint8_t link_text_answer(uint8_t *payload)
{
    uint16_t offset = link_get_16(&payload[1]);
    uint16_t size = flash_read_word(&link_text_sizes[payload[0]]);
    uint8_t *at = link_put_16(&payload[3], size);
    if (offset < size) {
        const uint8_t *text = (const uint8_t *)text_of(payload[0]);
        at = put_flash(at, text + offset, (uint32_t)(size - offset), LINK_TEXT_BYTES);
    }
    return (uint8_t)(at - payload);
}

/* The bytes lie in the first 64 KiB of flash, see tables.c: an offset has 16 bits where it is used. */
uint8_t link_description_answer(uint8_t *payload)
{
    uint32_t offset = link_get_32(payload);
    uint8_t *at = &payload[4];
    uint32_t there = JOB_DESCRIPTION_BYTES;
    if (offset < there) {
        at = put_flash(at, &job_description[(uint16_t)offset], there - offset, LINK_DESCRIPTION_BYTES);
    }
    return (uint8_t)(at - payload);
}

#endif

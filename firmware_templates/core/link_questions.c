#include "link_questions.h"

#include "capture.h"
#include "link_about.h"
#include "link_bytes.h"
#include "link_counts.h"
#include "link_inputs.h"
#include "link_words.h"
#include "pace.h"
#include "remap.h"
#include "remap_store.h"
#include "report.h"
#include "silence.h"
#include "table_checks.h"

#if LINK

/* Bytes that a question has for a payload, plus 1; 0 for what is no question. */
static const uint8_t lengths[] TABLE_IN_FLASH = {
    [LINK_WHO] = 1,        [LINK_TEXT] = 4,        [LINK_DESCRIPTION] = 5, [LINK_LANES] = 2,
    [LINK_SHOES] = 2,      [LINK_SHOES_ANEW] = 1,  [LINK_COUNTERS] = 1,    [LINK_PACE] = 1,
    [LINK_PACE_ANEW] = 1,  [LINK_CAPTURE] = 3,     [LINK_CAPTURED] = 3,    [LINK_CAPTURE_END] = 1,
    [LINK_REMAP] = 2,      [LINK_REMAP_PUT] = 5,   [LINK_REMAP_KEEP] = 1,  [LINK_REMAP_CLEAR] = 1,
    [LINK_PANIC] = 1,      [LINK_REPORT] = 1,
};

/* The questions that only want to know something. */
static uint8_t question_judge(uint8_t kind, const uint8_t *payload)
{
    switch (kind) {
    case LINK_TEXT:
        return link_text_judge(payload);
    case LINK_LANES:
        return link_lanes_judge(payload);
    case LINK_SHOES:
        return link_shoes_judge(payload);
    case LINK_CAPTURED:
        return capture_judge(payload);
    case LINK_REMAP:
        return remap_row_judge(payload);
    default:
        return 0;
    }
}

static uint8_t done(void (*order)(void))
{
    order();
    return 0;
}

/* The questions that order something; the others are judged. */
static uint8_t question_do(uint8_t kind, const uint8_t *payload)
{
    switch (kind) {
    case LINK_SHOES_ANEW:
        return done(link_shoes_anew);
    case LINK_PACE_ANEW:
        return done(pace_begin);
    case LINK_CAPTURE:
        return capture_start(payload);
    case LINK_CAPTURE_END:
        return capture_end();
    case LINK_REMAP_PUT:
        return remap_put(payload);
    case LINK_REMAP_KEEP:
        return remap_store_keep();
    case LINK_REMAP_CLEAR:
        return remap_clear();
    case LINK_PANIC:
        return done(panic_begin);
    case LINK_REPORT:
        return done(report_again);
    default:
        return question_judge(kind, payload);
    }
}

uint8_t question_take(uint8_t kind, const uint8_t *payload, uint8_t length)
{
    uint8_t wanted = kind < sizeof lengths ? flash_read_byte(&lengths[kind]) : 0;
    if (wanted == 0) {
        return LINK_UNKNOWN_KIND;
    }
    return length + 1 == wanted ? question_do(kind, payload) : LINK_WRONG_LENGTH;
}

uint8_t question_answer(uint8_t kind, uint8_t *payload)
{
    switch (kind) {
    case LINK_WHO:
        return link_who_answer(payload);
    case LINK_TEXT:
        return link_text_answer(payload);
    case LINK_DESCRIPTION:
        return link_description_answer(payload);
    case LINK_LANES:
        return link_lanes_answer(payload);
    case LINK_SHOES:
        return link_shoes_answer(payload);
    case LINK_COUNTERS:
        return link_counters_answer(payload);
    case LINK_PACE:
        return pace_answer(payload);
    case LINK_CAPTURE:
        return capture_start_answer(payload);
    case LINK_CAPTURED:
        return capture_answer(payload);
    case LINK_REMAP:
        return remap_row_answer(payload);
    case LINK_REMAP_PUT:
        *payload = remap_find(link_get_16(payload));
        return 1;
    default:
        return 0;
    }
}

#endif

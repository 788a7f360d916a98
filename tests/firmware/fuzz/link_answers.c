#include "link_answers.h"

#include <stddef.h>

#include "link_frames.h"
#include "link_words.h"

#define AROUND (LINK_HEAD_BYTES + LINK_CHECK_BYTES)

uint32_t answered[KINDS];
uint32_t refused[REASONS];

/* 1 when an answer of this kind can have so long a payload. */
static int length_is_right(uint8_t kind, const uint8_t *payload, int length)
{
    switch (kind) {
    case LINK_WHO:
        return length == LINK_WHO_BYTES;
    case LINK_TEXT:
        return length >= 5 && length <= 5 + LINK_TEXT_BYTES;
    case LINK_DESCRIPTION:
        return length >= 4 && length <= 4 + LINK_DESCRIPTION_BYTES;
    case LINK_LANES:
        return length == 2 + 3 * payload[1] && payload[1] <= LINK_LANES_MOST;
    case LINK_SHOES:
        return length == 2 + 8 * payload[1] && payload[1] <= LINK_SHOES_MOST;
    case LINK_COUNTERS:
        return length == 4 + 2 * LINK_COUNTS;
    case LINK_PACE:
        return length == 17;
    case LINK_CAPTURE:
        return length == 5;
    case LINK_CAPTURED:
        return length == 4 + 2 * (6 + LINK_BINS) + 1;
    case LINK_REMAP:
        return length == 7;
    case LINK_REMAP_PUT:
        return length == 1;
    default:
        return length == 0;
    }
}

/* What is asked with, and what comes back at the same place of the answer, must agree. */
static int echo_is_right(uint8_t kind, const uint8_t *asked, const uint8_t *payload)
{
    int bytes = kind == LINK_TEXT ? 3 : kind == LINK_DESCRIPTION ? 4 : kind == LINK_CAPTURED ? 2 : 0;
    bytes = kind == LINK_LANES || kind == LINK_SHOES || kind == LINK_CAPTURE || kind == LINK_REMAP ? 1 : bytes;
    for (int i = 0; i < bytes; i++) {
        if (asked[i] != payload[i]) {
            return 0;
        }
    }
    return 1;
}

static const char *refusal_fault(const uint8_t *question, const uint8_t *answer, int length)
{
    const uint8_t *payload = answer + LINK_HEAD_BYTES;
    if (length != 2 || payload[0] != question[1]) {
        return "a refusal that does not name its question";
    }
    if (payload[1] == 0 || payload[1] >= REASONS) {
        return "a refusal without a reason";
    }
    refused[payload[1]]++;
    return NULL;
}

/* The reason for which a question must be refused, whatever the board does; 0 for none. */
static uint8_t reason_due(const uint8_t *question, int question_length)
{
    int wanted = question_payload(question[1]);
    if (question[0] != LINK_VERSION) {
        return LINK_OTHER_VERSION;
    }
    if (wanted < 0) {
        return LINK_UNKNOWN_KIND;
    }
    return question_length - AROUND == wanted ? 0 : LINK_WRONG_LENGTH;
}

/* Where none is due, there may still be one that only the board knows. */
static int reason_is_right(uint8_t due, uint8_t reason)
{
    return due != 0 ? reason == due : reason == 0 || reason > LINK_WRONG_LENGTH;
}

const char *answer_fault(const uint8_t *question, int question_length, const uint8_t *answer, int answer_length)
{
    const uint8_t *payload = answer + LINK_HEAD_BYTES;
    int length = answer_length - AROUND;
    if (answer[0] != LINK_VERSION || answer[2] != question[2]) {
        return "an answer of another version or sequence";
    }
    uint8_t reason = answer[1] == LINK_REFUSED ? payload[1] : 0;
    if (!reason_is_right(reason_due(question, question_length), reason)) {
        return "refused for another reason than it must be";
    }
    if (reason != 0) {
        return refusal_fault(question, answer, length);
    }
    if (answer[1] != (question[1] | LINK_ANSWER)) {
        return "an answer of another kind";
    }
    if (!length_is_right(question[1], payload, length)) {
        return "an answer of a wrong length";
    }
    if (!echo_is_right(question[1], question + LINK_HEAD_BYTES, payload)) {
        return "an answer to another question";
    }
    answered[question[1]]++;
    return NULL;
}

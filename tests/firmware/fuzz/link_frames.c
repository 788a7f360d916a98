#include "link_frames.h"

#include <string.h>

#include "link_line.h"
#include "link_words.h"

static uint32_t dice;
static uint8_t before[STUFFED_MOST]; /* the frame before, for replays */
static int before_length;

void dice_begin(uint32_t seed)
{
    dice = seed * 2654435761u + 1u;
    before_length = 0;
}

/* A linear congruential generator; the high bits are the good ones. */
uint32_t roll(uint32_t count)
{
    dice = dice * 1664525u + 1013904223u;
    return (uint32_t)(((uint64_t)dice * count) >> 32);
}

static void fill(uint8_t *bytes, int count)
{
    for (int i = 0; i < count; i++) {
        bytes[i] = (uint8_t)roll(256);
    }
}

static int seal_and_stuff(uint8_t *body, int length, uint8_t *line)
{
    uint16_t check = line_check(body, length);
    body[length] = (uint8_t)check;
    body[length + 1] = (uint8_t)(check >> 8);
    return line_stuff(body, length + LINK_CHECK_BYTES, line);
}

/* Kinds, and the length of what is asked with; the more interesting ones twice. */
static const uint8_t questions[][2] = {
    {LINK_WHO, 0},        {LINK_TEXT, 3},       {LINK_DESCRIPTION, 4}, {LINK_LANES, 1},       {LINK_SHOES, 1},
    {LINK_SHOES_ANEW, 0}, {LINK_COUNTERS, 0},   {LINK_PACE, 0},        {LINK_PACE_ANEW, 0},   {LINK_CAPTURE, 2},
    {LINK_CAPTURED, 2},   {LINK_CAPTURE_END, 0}, {LINK_REMAP, 1},      {LINK_REMAP_PUT, 4},   {LINK_REMAP_KEEP, 0},
    {LINK_REMAP_CLEAR, 0}, {LINK_PANIC, 0},     {LINK_REPORT, 0},      {LINK_REMAP_PUT, 4},   {LINK_CAPTURED, 2},
};

int question_payload(uint8_t kind)
{
    for (unsigned i = 0; i < sizeof questions / sizeof *questions; i++) {
        if (questions[i][0] == kind) {
            return questions[i][1];
        }
    }
    return -1;
}

/* Numbers that are mostly within what a small console has: small ones, and two of 16 bits in four bytes. */
static void fill_small(uint8_t *bytes, int count)
{
    static const uint8_t limits[] = {9, 30, 24}, limits_16[] = {12, 1, 24, 1};
    for (int i = 0; i < count; i++) {
        bytes[i] = (uint8_t)(roll(8) == 0 ? roll(256) : roll(count == 4 ? limits_16[i] : limits[i]));
    }
}

static int make_question(uint8_t *line)
{
    uint8_t body[BODY_MOST];
    const uint8_t *question = questions[roll(sizeof questions / sizeof *questions)];
    body[0] = LINK_VERSION;
    body[1] = question[0];
    body[2] = (uint8_t)roll(256);
    fill_small(body + LINK_HEAD_BYTES, question[1]);
    if (question[0] == LINK_CAPTURED) {
        body[LINK_HEAD_BYTES + 1] = 0; /* a contact has 16 bits, and here 8 are enough */
    }
    return seal_and_stuff(body, LINK_HEAD_BYTES + question[1], line);
}

/* A right check around anything: kinds, versions and lengths of no sense, too long ones among them. */
static int make_sealed(uint8_t *line)
{
    uint8_t body[256];
    int length = (int)roll(roll(8) == 0 ? 250 : LINK_HEAD_BYTES + LINK_PAYLOAD_MAX + 1);
    fill(body, length);
    if (roll(2) == 0 && length > 1) {
        body[0] = LINK_VERSION;
        body[1] = questions[roll(sizeof questions / sizeof *questions)][0];
    }
    return seal_and_stuff(body, length, line);
}

static int make_mutated(uint8_t *line)
{
    int length = make_question(line);
    for (uint32_t changes = 1 + roll(3); changes > 0; changes--) {
        line[roll((uint32_t)length)] ^= (uint8_t)(1 + roll(255));
    }
    return length;
}

/* Ends too early, with or without a zero; without one it runs into the next. */
static int make_cut(uint8_t *line)
{
    int length = 1 + (int)roll((uint32_t)make_question(line));
    line[length - 1] = (uint8_t)(roll(2) == 0 ? 0 : line[length - 1]);
    return length;
}

static int make_noise(uint8_t *line)
{
    int length = 1 + (int)roll(roll(4) == 0 ? 400 : 40);
    fill(line, length);
    return length;
}

static int make_again(uint8_t *line)
{
    if (before_length == 0) {
        return make_question(line);
    }
    memcpy(line, before, (size_t)before_length);
    return before_length;
}

int frame_make(uint8_t *line)
{
    static int (*const shapes[])(uint8_t *line) = {
        make_question, make_question, make_question, make_question, make_question, make_again, make_sealed,
        make_mutated,  make_mutated,  make_cut,      make_noise, /* mostly without a right check */
    };
    before_length = shapes[roll(sizeof shapes / sizeof *shapes)](line);
    if (before_length <= STUFFED_MOST) {
        memcpy(before, line, (size_t)before_length);
    }
    return before_length;
}

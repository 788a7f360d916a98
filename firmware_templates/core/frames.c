#include "frames.h"

#include "crc16.h"
#include "table_checks.h"

#if LINK

#define SEALED_AT_ONCE 16

uint8_t frame_body[LINK_BODY_MAX];
uint8_t frame_size;
uint16_t frames_bad;

static uint16_t check; /* of the bytes that have been gone through */
static uint8_t begun;  /* taking: 1 behind the first byte of a frame */
static uint8_t broken; /* taking: 1 when the frame is longer than any may be */
static uint8_t left;   /* bytes to the end of the present block of stuffing */
static uint8_t at;     /* answering: byte of the body that comes next */

void frames_begin(void)
{
    frames_bad = 0;
    frame_await();
}

void frame_await(void)
{
    frame_size = 0;
    check = CRC16_START;
    begun = 0;
    broken = 0;
    left = 0;
}

/* The check runs two bytes behind, for the last two are the check itself. */
static void body_put(uint8_t byte)
{
    if (frame_size == LINK_BODY_MAX) {
        broken = 1;
        return;
    }
    frame_body[frame_size++] = byte;
    if (frame_size > LINK_CHECK_BYTES) {
        check = crc16_step(check, frame_body[frame_size - LINK_CHECK_BYTES - 1]);
    }
}

uint16_t frame_check(void)
{
    return (uint16_t)(frame_body[frame_size - 2] | (uint16_t)(frame_body[frame_size - 1] << 8));
}

static uint8_t frame_is_whole(void)
{
    return !broken && left == 0 && frame_size >= LINK_HEAD_BYTES + LINK_CHECK_BYTES && check == frame_check();
}

static uint8_t frame_end(void)
{
    if (frame_is_whole()) {
        return 1;
    }
    if (begun && frames_bad != UINT16_MAX) {
        frames_bad++;
    }
    frame_await();
    return 0;
}

/* A block is a length and then so many bytes less one; between two blocks stands a zero that was left out.  Only behind
 * a block of the greatest length stands none, but no body has room for one. */
uint8_t frame_take(uint8_t byte)
{
    if (byte == 0) {
        return frame_end();
    }
    if (left != 0) {
        left--;
        body_put(byte);
        return 0;
    }
    if (begun) {
        body_put(0);
    }
    begun = 1;
    left = (uint8_t)(byte - 1);
    return 0;
}

void frame_answer(uint8_t size)
{
    frame_size = size;
    check = CRC16_START;
    at = 0;
}

uint8_t frame_seal(void)
{
    for (uint8_t bytes = SEALED_AT_ONCE; bytes != 0 && at != frame_size; bytes--) {
        check = crc16_step(check, frame_body[at++]);
    }
    if (at != frame_size) {
        return 0;
    }
    frame_body[frame_size++] = (uint8_t)check;
    frame_body[frame_size++] = (uint8_t)(check >> 8);
    left = 0;
    at = UINT8_MAX; /* the first block begins behind a zero that is not there */
    return 1;
}

/* How many bytes there are from `at` to the next zero, or to the end. */
static uint8_t block_length(void)
{
    uint8_t end = at;
    while (end != frame_size && frame_body[end] != 0) {
        end++;
    }
    return (uint8_t)(end - at);
}

uint8_t frame_next(void)
{
    if (left != 0) {
        left--;
        return frame_body[at++];
    }
    at++; /* over the zero */
    if (at > frame_size) {
        return 0;
    }
    left = block_length();
    return (uint8_t)(left + 1);
}

#endif

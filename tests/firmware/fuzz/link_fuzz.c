/* A million hostile frames: `link_fuzz FRAMES SEED` feeds the board link and MIDI in of the pretended board and ends
 * at the first thing that must not be.
 *
 * What must be: every byte is done with in a bounded number of ticks; each whole frame is answered once, in order and
 * well-formed, and nothing else is; the store is written only on order; no question but a panic changes the state of a
 * lane.  At the end it prints what it has done, for the test to see that it was worth something.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "board.h"
#include "console.h"
#include "host_clock.h"
#include "host_link.h"
#include "host_store.h"
#include "lanes.h"
#include "link_answers.h"
#include "link_frames.h"
#include "link_line.h"
#include "link_words.h"
#include "remap_store.h"
#include "table_checks.h"
#include "wire_in.h"

#define QUESTIONS_MOST 8    /* whole frames in one go */
#define TICKS_OF_AN_ANSWER 45 /* taken, answered, sealed 16 bytes and given 2 bytes a tick: 1 + 1 + 4 + 32, and some */
#define SETTLE_TICKS 400

struct body {
    uint8_t bytes[STUFFED_MOST];
    int length;
};

static uint32_t frames_done, whole, ticks, restarts, records;
static struct body heard;                     /* the line as the board has it, since the last zero */
static struct body questions[QUESTIONS_MOST]; /* whole frames of this go */
static int question_count;
static int answer_count;
static uint8_t orders[KINDS]; /* kinds asked in this go */
static struct lane_state lanes_before[LANE_COUNT];
static int unrest; /* 1 while contacts move and MIDI in is fuzzed as well: both change the states of lanes */

static void must(int holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "after %" PRIu32 " frames: %s\n", frames_done, what);
        abort();
    }
}

/* Follows the line as a board should, by whole frames. */
static void follow(uint8_t byte)
{
    if (byte != 0) {
        must(heard.length < STUFFED_MOST, "the fuzzer lets no frame grow so long");
        heard.bytes[heard.length++] = byte;
        return;
    }
    struct body *question = &questions[question_count];
    question->length = line_unstuff(heard.bytes, heard.length, question->bytes);
    heard.length = 0;
    if (question->length > 0 && line_is_whole(question->bytes, question->length)) {
        orders[question->bytes[1]] = 1;
        question_count++;
        whole++;
    }
}

static void tick(void)
{
    host_tick_counts = (uint16_t)roll(2 * TICK_US + 20);
    if (unrest) {
        host_registers[roll(7)] ^= (uint8_t)(1u << roll(8));
    }
    if (ticks++ % 16 == 0) {
        host_tick();
    } else {
        console_tick();
    }
    host_sent_count = 0;
}

static void settle(int count)
{
    while (count-- > 0) {
        host_tick();
        host_sent_count = 0;
    }
    memcpy(lanes_before, lane_states, sizeof lanes_before);
}

/* Judges what the board has sent so far; the frames in it must be whole. */
static void listen(struct body *sent)
{
    uint8_t byte;
    while (host_link_take(&byte, 1) != 0) {
        if (byte != 0) {
            must(sent->length < STUFFED_MOST, "an answer without end");
            sent->bytes[sent->length++] = byte;
            continue;
        }
        struct body answer;
        answer.length = line_unstuff(sent->bytes, sent->length, answer.bytes);
        sent->length = 0;
        must(answer.length > 0 && line_is_whole(answer.bytes, answer.length), "an answer that is no whole frame");
        must(answer_count < question_count, "an answer that nobody asked for");
        const struct body *question = &questions[answer_count++];
        const char *fault = answer_fault(question->bytes, question->length, answer.bytes, answer.length);
        must(fault == NULL, fault);
    }
}

/* Lets the board work until it has taken all and answered all, which must not last longer than it may. */
static void work(int bytes)
{
    struct body sent = {{0}, 0};
    int allowed = bytes / 6 + 2 + question_count * TICKS_OF_AN_ANSWER;
    while (host_link_waiting() != 0 || answer_count != question_count) {
        must(allowed-- > 0, "the board is not done in time");
        tick();
        listen(&sent);
    }
    for (int i = 0; i < 3; i++) {
        tick();
        listen(&sent);
    }
    must(sent.length == 0, "half an answer");
}

static void check_lanes(void)
{
    if (orders[LINK_PANIC]) {
        settle(5 * SETTLE_TICKS);
    }
    if (!unrest) {
        must(memcmp(lanes_before, lane_states, sizeof lanes_before) == 0, "a question has changed the state of a lane");
    }
}

static void one_go(void)
{
    static uint8_t line[STUFFED_MOST];
    uint16_t records_before = remap_store_writes;
    uint32_t writes_before = host_store_writes;
    uint8_t was_writing = remap_store_is_writing();
    question_count = answer_count = 0;
    memset(orders, 0, sizeof orders);
    int length = heard.length > STUFFED_MOST / 2 ? 1 : frame_make(line);
    line[length - 1] = heard.length > STUFFED_MOST / 2 ? 0 : line[length - 1];
    for (int i = 0; i < length && question_count < QUESTIONS_MOST; i++) {
        follow(line[i]);
        must(host_link_give(&line[i], 1) == 1, "the line has no room");
    }
    for (uint32_t left = unrest ? roll(6) : 0; left > 0; left--) {
        (void)host_wire_in_give((uint8_t)roll(256));
    }
    work(length);
    must(orders[LINK_REMAP_KEEP] || remap_store_writes == records_before, "a record begun without an order");
    must(orders[LINK_REMAP_KEEP] || was_writing || host_store_writes == writes_before, "the store written on no order");
    records += (uint16_t)(remap_store_writes - records_before);
    check_lanes();
}

static void move_contacts(void)
{
    for (int i = 0; i < 7; i++) {
        host_registers[i] = (uint8_t)(roll(3) == 0 ? roll(256) : 0xFF);
    }
    host_counts[9] = (uint16_t)roll(1024);
    host_store_fails_after = roll(8) == 0 ? roll(60) : HOST_STORE_NEVER;
    settle(SETTLE_TICKS);
}

static void restart(void)
{
    uint32_t writes_before = host_store_writes;
    if (roll(2) == 0) {
        for (int i = 0; i < HOST_STORE_SIZE; i++) {
            host_store[i] = (uint8_t)roll(256);
        }
    }
    console_begin();
    heard.length = 0;
    restarts++;
    settle(SETTLE_TICKS);
    must(host_store_writes == writes_before, "the store written by a restart");
    unrest = (int)roll(2);
}

static void print_counts(const char *name, const uint32_t *counts, int count)
{
    printf(", \"%s\": {", name);
    for (int i = 0, first = 1; i < count; i++) {
        if (counts[i] != 0) {
            printf("%s\"%d\": %" PRIu32, first ? "" : ", ", i, counts[i]);
            first = 0;
        }
    }
    printf("}");
}

int main(int count, char **arguments)
{
    uint32_t frames = count > 1 ? (uint32_t)strtoul(arguments[1], NULL, 10) : 1000;
    dice_begin(count > 2 ? (uint32_t)strtoul(arguments[2], NULL, 10) : 1);
    host_begin();
    restart();
    for (; frames_done < frames; frames_done++) {
        if (frames_done % 64 == 0) {
            move_contacts();
        }
        if (frames_done % 2048 == 0) {
            restart();
        }
        one_go();
    }
    printf("{\"frames\": %" PRIu32 ", \"whole\": %" PRIu32 ", \"ticks\": %" PRIu32, frames_done, whole, ticks);
    printf(", \"restarts\": %" PRIu32 ", \"records\": %" PRIu32 ", \"store_writes\": %" PRIu32, restarts, records,
           host_store_writes);
    print_counts("answered", answered, KINDS);
    print_counts("refused", refused, REASONS);
    printf("}\n");
    return 0;
}

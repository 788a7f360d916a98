#include "link.h"

#include "capture.h"
#include "frames.h"
#include "link_questions.h"
#include "pace.h"
#include "port.h"
#include "queues.h"
#include "remap.h"
#include "remap_store.h"
#include "uptime.h"

#if LINK

#define BYTES_EACH_TICK 6 /* either way; a question waits in the port while the last one is answered */

/* Places in the body of a frame. */
enum body { BODY_VERSION = 0, BODY_KIND = 1, BODY_SEQUENCE = 2, BODY_PAYLOAD = 3 };

enum stage { STAGE_TAKE = 0, STAGE_ANSWER = 1, STAGE_SEAL = 2, STAGE_GIVE = 3 };

/* What the last question was, so that it is known again, and what became of it. */
struct question {
    uint8_t kind; /* LINK_REFUSED, which is no question's, for none */
    uint8_t sequence;
    uint16_t check;
    uint8_t reason; /* enum link_reason; 0 when it was answered */
};

static uint8_t stage; /* enum stage */
static struct question last;

void link_begin(void)
{
    frames_begin();
    queues_begin();
    pace_begin();
    uptime_begin();
    capture_begin();
    remap_begin();
    remap_store_begin();
    stage = STAGE_TAKE;
    last.kind = LINK_REFUSED;
}

void link_scanned(void)
{
    queues_look();
    capture_tick();
}

static uint8_t is_last_again(void)
{
    return last.kind != LINK_REFUSED && frame_body[BODY_KIND] == last.kind &&
           frame_body[BODY_SEQUENCE] == last.sequence && frame_check() == last.check;
}

/* Does what the question orders, unless it is done already. */
static void question_settle(void)
{
    if (is_last_again()) {
        return;
    }
    last.kind = frame_body[BODY_KIND];
    last.sequence = frame_body[BODY_SEQUENCE];
    last.check = frame_check();
    uint8_t length = (uint8_t)(frame_size - LINK_HEAD_BYTES - LINK_CHECK_BYTES);
    last.reason = frame_body[BODY_VERSION] == LINK_VERSION ? question_take(last.kind, &frame_body[BODY_PAYLOAD], length)
                                                           : LINK_OTHER_VERSION;
}

static void refuse(void)
{
    frame_body[BODY_PAYLOAD] = frame_body[BODY_KIND];
    frame_body[BODY_PAYLOAD + 1] = last.reason;
    frame_body[BODY_KIND] = LINK_REFUSED;
    frame_answer(LINK_HEAD_BYTES + 2);
}

static void answer(void)
{
    uint8_t length = question_answer(frame_body[BODY_KIND], &frame_body[BODY_PAYLOAD]);
    frame_body[BODY_KIND] |= LINK_ANSWER;
    frame_answer((uint8_t)(LINK_HEAD_BYTES + length));
}

static void step_take(void)
{
    uint8_t byte;
    for (uint8_t left = BYTES_EACH_TICK; left != 0 && port_link_take(&byte); left--) {
        if (frame_take(byte)) {
            stage = STAGE_ANSWER;
            return;
        }
    }
}

static void step_answer(void)
{
    question_settle();
    frame_body[BODY_VERSION] = LINK_VERSION;
    if (last.reason != 0) {
        refuse();
    } else {
        answer();
    }
    stage = STAGE_SEAL;
}

static void step_seal(void)
{
    if (frame_seal()) {
        stage = STAGE_GIVE;
    }
}

static void step_give(void)
{
    for (uint8_t left = BYTES_EACH_TICK; left != 0 && port_link_room() != 0; left--) {
        uint8_t byte = frame_next();
        port_link_send(byte);
        if (byte == 0) {
            frame_await();
            stage = STAGE_TAKE;
            return;
        }
    }
}

static void link_step(void)
{
    switch (stage) {
    case STAGE_TAKE:
        step_take();
        break;
    case STAGE_ANSWER:
        step_answer();
        break;
    case STAGE_SEAL:
        step_seal();
        break;
    default:
        step_give();
        break;
    }
}

void link_tick(void)
{
    if (uptime_tick()) {
        remap_store_second();
    }
    remap_store_tick();
    if (!remap_store_is_reading()) {
        link_step();
    }
    pace_tick();
}

#endif

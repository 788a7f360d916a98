#include "chatter.h"

#include "table_checks.h"

#define SECOND_TICKS (1000000ul / TICK_US)

uint16_t chatter_seconds;
uint16_t chatter_contact;
uint8_t chatter_lane;
uint8_t chatter_mask;
static uint8_t candidate_lane;
static uint8_t candidate_mask;
static uint8_t lead;
static uint16_t second_ticks;

void chatter_begin(void)
{
    chatter_seconds = 0;
    chatter_contact = UINT16_MAX;
    chatter_mask = 0;
    lead = 0;
    second_ticks = 0;
}

static void vote(void)
{
    if (chatter_lane == candidate_lane && chatter_mask == candidate_mask) {
        if (lead != UINT8_MAX) {
            lead++;
        }
    } else if (lead != 0) {
        lead--;
    } else {
        candidate_lane = chatter_lane;
        candidate_mask = chatter_mask;
        lead = 1;
    }
    chatter_mask = 0;
}

static uint16_t candidate_contact(void)
{
    uint16_t contact = (uint16_t)(candidate_lane * 8u);
    for (uint8_t mask = candidate_mask; mask > 1; mask >>= 1) {
        contact++;
    }
    return contact;
}

static void second_end(void)
{
    if (lead >= CHATTER_LEAD) {
        chatter_contact = candidate_contact();
        if (chatter_seconds != UINT16_MAX) {
            chatter_seconds++;
        }
    }
    second_ticks = 0;
    lead = 0;
}

void chatter_tick(void)
{
    if (chatter_mask != 0) {
        vote();
    }
    if (++second_ticks >= SECOND_TICKS) {
        second_end();
    }
}

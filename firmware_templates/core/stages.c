#include "stages.h"

#include "lanes.h"
#include "shoes.h"

#define STAGES_EACH_TICK 8 /* so that a long roller never delays the next scan */

static uint8_t stages_dirty[AT_LEAST_ONE(SHOE_COUNT)]; /* 1 when the shoe's stages must be gone through again */

/* The walk over the stages of one shoe. */
static uint8_t walk_shoe;  /* SHOE_COUNT when no walk is under way */
static uint8_t walk_stage; /* next stage, from 0 */
static uint8_t walk_on;    /* stages found on so far */
static uint8_t walk_value; /* the step reached so far; 0 for none */

void stages_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        uint8_t kind = flash_read_byte(&shoe_table[i].kind);
        stages_dirty[i] = kind == SHOE_PROGRESSIVE || kind == SHOE_SELECTIVE;
    }
    walk_shoe = SHOE_COUNT;
}

void stages_changed(uint8_t shoe)
{
    stages_dirty[shoe] = 1;
    if (walk_shoe == shoe) {
        walk_shoe = SHOE_COUNT;
    }
}

static void walk_begin(void)
{
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        if (stages_dirty[i]) {
            stages_dirty[i] = 0;
            walk_shoe = i;
            walk_stage = 0;
            walk_on = 0;
            walk_value = 0;
            return;
        }
    }
}

static uint8_t stage_is_on(uint16_t row)
{
    uint16_t contact = flash_read_word(&stage_table[row]);
    return lane_now(&lane_states[contact >> 3]) & (uint8_t)(1u << (contact & 7u));
}

/* Progressive: the highest stage that is on and has at most one stage off below it, so that one dirty contact within
 * the run changes nothing.  Selective: the highest stage that is on. */
static void walk_step(const struct shoe *row)
{
    uint16_t first = flash_read_word(&row->first_stage);
    if (!stage_is_on((uint16_t)(first + walk_stage++))) {
        return;
    }
    walk_on++;
    if (flash_read_byte(&row->kind) == SHOE_SELECTIVE || walk_on + 1 >= walk_stage) {
        walk_value = walk_stage;
    }
}

static void walk_end(const struct shoe *row, uint8_t count)
{
    if (walk_value != 0 || flash_read_byte(&row->kind) == SHOE_PROGRESSIVE) {
        shoe_set_value(walk_shoe, (uint8_t)((walk_value * 127u + count / 2u) / count));
    }
    walk_shoe = SHOE_COUNT;
}

void stages_tick(void)
{
    if (walk_shoe == SHOE_COUNT) {
        walk_begin();
        return;
    }
    const struct shoe *row = &shoe_table[walk_shoe];
    uint8_t count = flash_read_byte(&row->stage_count);
    for (uint8_t left = STAGES_EACH_TICK; left != 0; left--) {
        if (walk_stage == count) {
            walk_end(row, count);
            return;
        }
        walk_step(row);
    }
}

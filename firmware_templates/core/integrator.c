#include "integrator.h"

#include "counters.h"

/* Adds 1 to the leads of the differing contacts and takes 1 from those of the falling ones, in one pass over the planes:
 * a carry and a borrow never meet in one contact.  Returns the differing contacts that reached their number; `leading`
 * gets all whose lead is not nothing. */
static uint8_t integrator_step(uint8_t *planes, uint8_t differing, uint8_t falling, uint8_t on,
                               const struct group_state *group, uint8_t *leading)
{
    uint8_t press = group->press_count;
    uint8_t release = group->release_count;
    uint8_t off = (uint8_t)~on;
    uint8_t carry = differing;
    uint8_t borrow = falling;
    uint8_t reached = differing;
    uint8_t any = 0;
    for (uint8_t p = 0; p != PLANES; p++) {
        uint8_t plane = planes[p];
        /* The number to reach: of a contact that is on, the release count; of one that is off, the press count. */
        uint8_t wanted = (uint8_t)(((release & 1) ? on : 0) | ((press & 1) ? off : 0));
        uint8_t sum = plane ^ carry ^ borrow;
        carry &= plane;
        borrow &= (uint8_t)~plane;
        planes[p] = sum;
        any |= sum;
        reached &= (uint8_t)~(sum ^ wanted);
        press >>= 1;
        release >>= 1;
    }
    *leading = any;
    return reached;
}

/* Of a lane in this family, `attention` is the set of contacts whose lead is not nothing: only they can fall, and
 * while there are any every sample is looked at. */
uint8_t integrator_sample(const struct group_state *group, uint8_t lane, struct lane_state *state, uint8_t raw)
{
    uint8_t *planes = counter_planes[lane];
    uint8_t differing = (uint8_t)((raw ^ state->quiet) & state->listen);
    uint8_t falling = (uint8_t)(state->attention & ~differing);
    uint8_t leading = 0;
    uint8_t reached = integrator_step(planes, differing, falling, lane_now(state), group, &leading);
    state->quiet ^= reached;
    state->attention = (uint8_t)(leading & ~reached);
    if (reached != 0) {
        for (uint8_t p = 0; p != PLANES; p++) {
            planes[p] &= (uint8_t)~reached;
        }
    }
    return reached;
}

#include "remap.h"

#include "events.h"
#include "groups.h"
#include "lanes.h"
#include "link_bytes.h"
#include "link_words.h"
#include "remap_store.h"

#if LINK

struct remap_row remap_rows[AT_LEAST_ONE(REMAP_ROWS)];
uint8_t remap_count;

void remap_begin(void)
{
    remap_count = 0;
}

uint8_t remap_find(uint16_t contact)
{
    for (uint8_t row = 0; row != remap_count; row++) {
        if (remap_rows[row].contact == contact) {
            return row;
        }
    }
    return LINK_NONE_8;
}

uint16_t remap_plays(uint16_t contact)
{
    uint8_t row = remap_find(contact);
    return row == LINK_NONE_8 ? contact : remap_rows[row].plays;
}

#if REMAP_ROWS

static uint8_t contact_is_used(uint16_t contact)
{
    return lane_used((uint8_t)(contact >> 3)) >> (contact & 7u) & 1;
}

static uint8_t contact_sends(uint16_t contact)
{
    const struct message *message = &message_table[contact];
    return flash_read_byte(&message->on[0]) != 0 || flash_read_byte(&message->off[0]) != 0;
}

uint8_t remap_judge(uint16_t contact, uint16_t plays)
{
    if (!link_is_below(contact, LANE_COUNT * 8) || !link_is_below(plays, LANE_COUNT * 8)) {
        return LINK_OUT_OF_RANGE;
    }
    uint8_t duty = lane_states[contact >> 3].group->duty;
    uint8_t alike = duty == lane_states[plays >> 3].group->duty && duty != DUTY_STAGES;
    return alike && contact_is_used(contact) && contact_sends(plays) ? 0 : LINK_OTHER_DUTY;
}

/* 0 when a contact is heard as off and will be: what it sends may change without leaving anything sounding. */
static uint8_t contact_rest_judge(uint16_t contact)
{
    uint8_t sent = lane_states[contact >> 3].sent >> (contact & 7u) & 1;
    return sent ? LINK_NOT_AT_REST : 0;
}

/* Changes that wait would be sent by the new list; and while the store is written it must stay as it is. */
static uint8_t remap_is_free(void)
{
    for (const struct event_ring *ring = event_rings; ring != event_rings + EVENT_CLASSES; ring++) {
        if (ring->behind || ring->slots.oldest->mask != 0) {
            return 0;
        }
    }
    return !remap_store_is_writing();
}

static void remap_drop(uint8_t row)
{
    if (row != LINK_NONE_8) {
        remap_rows[row] = remap_rows[--remap_count];
    }
}

static uint8_t remap_enter(uint8_t row, uint16_t contact, uint16_t plays)
{
    if (row == LINK_NONE_8) {
        if (remap_count == REMAP_ROWS) {
            return LINK_FULL;
        }
        row = remap_count++;
    }
    remap_rows[row] = (struct remap_row){contact, plays};
    return 0;
}

static uint8_t remap_change(uint16_t contact, uint16_t plays)
{
    uint8_t row = remap_find(contact);
    if (contact == plays) {
        remap_drop(row);
        return 0;
    }
    return remap_enter(row, contact, plays);
}

uint8_t remap_put(const uint8_t *payload)
{
    uint16_t contact = link_get_16(payload);
    uint16_t plays = link_get_16(payload + 2);
    uint8_t reason = remap_judge(contact, plays);
    if (reason == 0) {
        reason = remap_is_free() ? contact_rest_judge(contact) : LINK_BUSY;
    }
    if (reason == 0) {
        reason = remap_change(contact, plays);
    }
    if (reason == 0) {
        remap_store_differs();
    }
    return reason;
}

uint8_t remap_clear(void)
{
    if (!remap_is_free()) {
        return LINK_BUSY;
    }
    for (uint8_t row = 0; row != remap_count; row++) {
        if (contact_rest_judge(remap_rows[row].contact) != 0) {
            return LINK_NOT_AT_REST;
        }
    }
    if (remap_count != 0) {
        remap_count = 0;
        remap_store_differs();
    }
    return 0;
}

#else

uint8_t remap_put(const uint8_t *payload)
{
    (void)payload;
    return LINK_NOT_HERE;
}

uint8_t remap_clear(void)
{
    return LINK_NOT_HERE;
}

#endif
#endif

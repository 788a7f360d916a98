#include "bounces.h"

#include "table_checks.h"

#if CAPTURE_LANES

static void bounces_begin(struct bounces *bounces)
{
    *bounces = (struct bounces){0, 0, 0, LINK_NONE_8, 0, {0}};
}

void bouncing_begin(struct bouncing *contact)
{
    bounces_begin(&contact->ways[0]);
    bounces_begin(&contact->ways[1]);
    contact->spikes = 0;
    contact->edges = 0;
}

static void count_up(uint8_t *count)
{
    if (*count != UINT8_MAX) {
        (*count)++;
    }
}

/* An edge: the time since the edge before, if there was one in this stroke, is part of the bounce. */
static void bouncing_edge(struct bouncing *contact)
{
    if (contact->edges == 0) {
        contact->length = 0;
        contact->stay = LINK_NONE_8;
    } else {
        if (contact->edges == 1) {
            contact->stay = contact->still;
        }
        uint16_t longer = (uint16_t)(contact->length + contact->still);
        contact->length = longer < contact->length ? UINT16_MAX : longer;
    }
    count_up(&contact->edges);
    contact->still = 0;
}

uint8_t bouncing_sample(struct bouncing *contact, uint8_t edge, uint8_t rest)
{
    if (edge) {
        bouncing_edge(contact);
    }
    return ++contact->still == rest;
}

/* 0 for no bounce, n for 2^(n-1) samples to 2^n - 1, and the last bin for all that is longer. */
static uint8_t bin_of(uint16_t length)
{
    uint8_t bin = 0;
    for (; length != 0 && bin != LINK_BINS - 1; length >>= 1) {
        bin++;
    }
    return bin;
}

static void bounces_enter(struct bounces *way, const struct bouncing *stroke)
{
    count_up(&way->strokes);
    count_up(&way->bins[bin_of(stroke->length)]);
    way->edges_last = stroke->edges;
    if (stroke->edges > way->edges_most) {
        way->edges_most = stroke->edges;
    }
    if (stroke->stay < way->first_stay) {
        way->first_stay = stroke->stay;
    }
    if (stroke->length > way->longest) {
        way->longest = stroke->length;
    }
}

void bouncing_settle(struct bouncing *contact, uint8_t way)
{
    if (way < 2) {
        bounces_enter(&contact->ways[way], contact);
    } else {
        count_up(&contact->spikes);
    }
    contact->edges = 0;
}

#endif

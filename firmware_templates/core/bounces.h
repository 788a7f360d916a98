/* The bounce of one contact, sample by sample; the words are those of LINK_CAPTURED. */
#ifndef BOUNCES_H
#define BOUNCES_H

#include "link_words.h"

#include <stdint.h>

/* What the strokes of one direction have shown. */
struct bounces {
    uint8_t strokes;
    uint8_t edges_last;     /* of the last stroke */
    uint8_t edges_most;     /* of any */
    uint8_t first_stay;     /* shortest, in samples; LINK_NONE_8 while none has bounced */
    uint16_t longest;       /* bounce in samples */
    uint8_t bins[LINK_BINS]; /* strokes by the length of their bounce */
};

/* One contact: what is over, and the stroke that is running. */
struct bouncing {
    struct bounces ways[2]; /* pressing, releasing */
    uint8_t spikes;         /* that came to rest as they began */
    uint8_t edges;          /* of the running stroke so far; 0 at rest */
    uint8_t still;          /* samples alike, the present one included */
    uint8_t stay;           /* the running stroke's first stay; LINK_NONE_8 while it has not bounced */
    uint16_t length;        /* samples from its first edge to its last */
};

void bouncing_begin(struct bouncing *contact);

/* Takes one sample of a contact that has an edge now or whose stroke is running; returns 1 when it has come to rest. */
uint8_t bouncing_sample(struct bouncing *contact, uint8_t edge, uint8_t rest);

/* Enters the stroke that has come to rest: `way` is 0 for pressing, 1 for releasing, 2 for a spike. */
void bouncing_settle(struct bouncing *contact, uint8_t way);

#endif

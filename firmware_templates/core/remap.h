/* Contacts that send what the plan wrote for another one: a short list, looked through only while it is not empty. */
#ifndef REMAP_H
#define REMAP_H

#include "table_checks.h"

struct remap_row {
    uint16_t contact; /* lane * 8 + bit */
    uint16_t plays;   /* the contact whose messages it sends */
};

extern struct remap_row remap_rows[];
extern uint8_t remap_count; /* rows in use; they come first */

void remap_begin(void);

/* Where the messages of a contact stand. */
uint16_t remap_plays(uint16_t contact);

/* 0, or the enum link_reason for which a contact may not play another. */
uint8_t remap_judge(uint16_t contact, uint16_t plays);

/* Each does what its question asks, or returns an enum link_reason. */
uint8_t remap_put(const uint8_t *payload);
uint8_t remap_clear(void);

/* Row of a contact; LINK_NONE_8 when it plays itself. */
uint8_t remap_find(uint16_t contact);

#endif

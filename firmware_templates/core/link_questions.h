/* What can be asked over the board link: each kind judged, done and answered. */
#ifndef LINK_QUESTIONS_H
#define LINK_QUESTIONS_H

#include <stdint.h>

/* Judges a question by its kind and the length of its payload, and does what it orders: 0, or an enum link_reason. */
uint8_t question_take(uint8_t kind, const uint8_t *payload, uint8_t length);

/* Writes the answer to a question that was taken over its payload; returns the answer's length. */
uint8_t question_answer(uint8_t kind, uint8_t *payload);

#endif

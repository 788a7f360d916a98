/* Who the board is: numbers, names, and the job that is stored in it. */
#ifndef LINK_ABOUT_H
#define LINK_ABOUT_H

#include <stdint.h>

/* How many bytes each text has, by enum link_text; beside the tables, which alone know. */
extern const uint16_t link_text_sizes[];

/* A byte of a text; 0 behind its end. */
uint8_t link_text_byte(uint8_t which, uint16_t at);

/* The question stands in `payload`; each writes the answer in its place and returns its length. */
uint8_t link_who_answer(uint8_t *payload);
uint8_t link_text_answer(uint8_t *payload);
uint8_t link_description_answer(uint8_t *payload);

/* Judges a question: 0, or an enum link_reason. */
uint8_t link_text_judge(const uint8_t *payload);

#endif

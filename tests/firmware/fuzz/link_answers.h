/* What an answer over the board link must look like. */
#ifndef LINK_ANSWERS_H
#define LINK_ANSWERS_H

#include <stdint.h>

#define KINDS 256
#define REASONS 12

/* How often each kind was answered, and each reason given. */
extern uint32_t answered[KINDS];
extern uint32_t refused[REASONS];

/* Null when `answer` is one to `question`, both whole bodies; otherwise what is wrong with it. */
const char *answer_fault(const uint8_t *question, int question_length, const uint8_t *answer, int answer_length);

#endif

/* What the board sees at its inputs. */
#ifndef LINK_INPUTS_H
#define LINK_INPUTS_H

#include <stdint.h>

/* Each judges a question: 0, or an enum link_reason. */
uint8_t link_lanes_judge(const uint8_t *payload);
uint8_t link_shoes_judge(const uint8_t *payload);

/* The question stands in `payload`; each writes the answer in its place and returns its length. */
uint8_t link_lanes_answer(uint8_t *payload);
uint8_t link_shoes_answer(uint8_t *payload);

/* The lowest and highest readings of every shoe start anew. */
void link_shoes_anew(void);

#endif

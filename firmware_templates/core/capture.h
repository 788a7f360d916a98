/* How the contacts of some lanes bounce: strokes, edges and times, for each contact, pressing and releasing apart.
 *
 * The lanes are read once more behind the scan, on every sample of their group, and only while a capture is running:
 * off, it costs the scan nothing.
 */
#ifndef CAPTURE_H
#define CAPTURE_H

#include <stdint.h>

void capture_begin(void);

/* Judges the question LINK_CAPTURE and begins the capture: 0, or an enum link_reason. */
uint8_t capture_start(const uint8_t *payload);

/* The same for LINK_CAPTURED; nothing is begun. */
uint8_t capture_judge(const uint8_t *payload);

/* Ends the capture: 0, or an enum link_reason. */
uint8_t capture_end(void);

/* The question stands in `payload`; each writes the answer in its place and returns its length. */
uint8_t capture_start_answer(uint8_t *payload);
uint8_t capture_answer(uint8_t *payload);

uint8_t capture_is_on(void);

/* Behind each scan: takes a sample when one is due. */
void capture_tick(void);

#endif

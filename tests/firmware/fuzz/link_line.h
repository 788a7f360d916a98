/* The computer's end of the board link, written apart from the firmware: stuffing whole frames, a check bit by bit. */
#ifndef LINK_LINE_H
#define LINK_LINE_H

#include <stdint.h>

#define BODY_MOST 61   /* of a frame that the board may take */
#define STUFFED_MOST 1000

/* CRC-16/IBM-3740. */
uint16_t line_check(const uint8_t *bytes, int count);

/* Stuffs `count` bytes, fewer than 254, and ends them with a zero; returns the length. */
int line_stuff(const uint8_t *body, int count, uint8_t *stuffed);

/* Undoes it for the bytes before a zero; returns the length of the body, or -1 when they are no such frame. */
int line_unstuff(const uint8_t *stuffed, int count, uint8_t *body);

/* 1 when a body is one that the board must answer: long and short enough, with a right check. */
int line_is_whole(const uint8_t *body, int count);

#endif

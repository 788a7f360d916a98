/* The list of remapped contacts in the non-volatile store.
 *
 * The store is a ring of places.  Each writing fills the place behind the last one, so that wear spreads and a write
 * that is torn leaves the record before it valid.  A record is
 *
 *     sequence 16, digest of the job (8 characters), rows, REMAP_ROWS times contact 16 and plays 16, check 16
 *
 * little-endian, with the check of the board link over everything before it.  At the start the newest valid record
 * counts, if it is of this job; anything else is noise, and means that nothing is kept.  The store is read in ticks, so
 * that silence need not wait for it; no change is reported, and no question answered, before it has been read.  What is
 * written is read back.
 */
#ifndef REMAP_STORE_H
#define REMAP_STORE_H

#include <stdint.h>

#define REMAP_WRITES_AT_ONCE 12     /* so many writings are allowed one behind the other, */
#define REMAP_WRITE_EACH_SECONDS 300u /* and one more each time that this has passed: 12 an hour */

/* Nothing is remapped; from the first tick on the store is read. */
void remap_store_begin(void);

/* Goes on with the reading at the start, by a few bytes, or with a writing, by one byte at most. */
void remap_store_tick(void);

/* 1 until the whole store has been read, once, and what is kept for this job is in force. */
uint8_t remap_store_is_reading(void);

/* Counts one second. */
void remap_store_second(void);

/* Begins to write the list; 0, or an enum link_reason.  A list that is kept already is not written again. */
uint8_t remap_store_keep(void);

/* The list has changed. */
void remap_store_differs(void);

/* The question LINK_REMAP: judged, and answered in its place. */
uint8_t remap_row_judge(const uint8_t *payload);
uint8_t remap_row_answer(uint8_t *payload);

uint8_t remap_store_is_writing(void);

/* 1 when the newest record is of another job. */
uint8_t remap_store_is_foreign(void);

/* Writings since the start, at most 65535. */
extern uint16_t remap_store_writes;

#endif

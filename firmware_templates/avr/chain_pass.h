/* The innermost loop of all: passes the lanes of the chain that are quiet. */
#ifndef CHAIN_PASS_H
#define CHAIN_PASS_H

#include <avr/io.h>
#include <stddef.h>
#include <stdint.h>

#include "lanes.h"

/* At half the CPU clock the bits of a byte take 16 cycles.  1 when the byte has always come in 17 cycles after it was
 * started; the data sheet does not say how soon it is there, so each start finds it out: see chain_begin. */
extern uint8_t chain_is_prompt;

/* Takes a byte, starts the next one, and compares; leaves for 9 when the lane is not quiet, else goes on to the next
 * lane, with the flags of how many are left.  15 cycles, 14 of them behind the start. */
#define PASS_LANE                             \
    "in %[raw], %[spdr]\n\t"                  \
    "out %[spdr], __zero_reg__\n\t"           \
    "ldd %[differs], %a[at]+%[quiet]\n\t"     \
    "eor %[differs], %[raw]\n\t"              \
    "ldd %[other], %a[at]+%[listen]\n\t"      \
    "and %[differs], %[other]\n\t"            \
    "ldd %[other], %a[at]+%[attention]\n\t"   \
    "or %[differs], %[other]\n\t"             \
    "brne 9f\n\t"                             \
    "adiw %[at], %[size]\n\t"                 \
    "dec %[count]\n\t"

/* Waits for the byte that is on its way. */
#define PASS_WAIT               \
    "in %[raw], %[spsr]\n\t"    \
    "sbrs %[raw], %[spif]\n\t"  \
    "rjmp .-6\n\t"

#if SPI_DIVIDER == 2
/* The first byte is waited for, with a cycle of idling that lets the first look behind a start find it.  Behind it the
 * cycles are counted, and a quiet lane takes 18.  An interrupt in between only makes a byte wait, since none is started
 * before the one before it has been read.  A chip that is not prompt waits for every byte: then a lane takes 22 or more.
 *
 * The flag stays set behind counted bytes, since nobody has read it.  Whoever waits next finds it at once, which is
 * right because the byte that is on its way was started long before: the work on its lane alone takes 14 cycles, and
 * before the next wait a lane was looked at, the next stretch was looked for, or the turn was done. */
#define PASS_LOOP                 \
    "nop\n"                       \
    "1:" PASS_WAIT PASS_LANE      \
    "breq 9f\n\t"                 \
    "sbrs %[prompt], 0\n\t"       \
    "rjmp 1b\n"                   \
    "2:" PASS_LANE                \
    "breq 9f\n\t"                 \
    "rjmp 2b\n"
#define PASS_PROMPT chain_is_prompt
#else
/* Every byte is waited for.  With the cycle of idling a look at the flag falls right behind a byte of 32 cycles, or of
 * any multiple. */
#define PASS_LOOP                 \
    "1: nop\n\t"                  \
    PASS_WAIT PASS_LANE           \
    "brne 1b\n"
#define PASS_PROMPT 0
#endif

/* Passes lanes as long as they are quiet (see lane_is_quiet): *lane and *left move to the first that is not, whose
 * byte is returned; *left is 0 when all were quiet.  *left must not be 0. */
static inline __attribute__((always_inline)) uint8_t port_chain_pass_quiet(struct lane_state **lane, uint8_t *left)
{
    struct lane_state *at = *lane;
    uint8_t count = *left;
    uint8_t raw;
    uint8_t differs;
    uint8_t other;
    __asm__ volatile(PASS_LOOP "9:"
                     : [at] "+b"(at), [count] "+r"(count), [raw] "=&r"(raw), [differs] "=&r"(differs),
                       [other] "=&r"(other)
                     : [spsr] "I"(_SFR_IO_ADDR(SPSR)), [spdr] "I"(_SFR_IO_ADDR(SPDR)), [spif] "I"(SPIF),
                       [quiet] "I"(offsetof(struct lane_state, quiet)),
                       [listen] "I"(offsetof(struct lane_state, listen)),
                       [attention] "I"(offsetof(struct lane_state, attention)), [size] "I"(sizeof(struct lane_state)),
                       [prompt] "rI"(PASS_PROMPT)
                     : "memory");
    *lane = at;
    *left = count;
    return raw;
}

#endif

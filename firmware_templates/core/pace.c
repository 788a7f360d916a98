#include "pace.h"

#include "link_bytes.h"
#include "link_words.h"
#include "port.h"
#include "table_checks.h"

#if LINK

#define TICK_COUNTS ((uint16_t)(TICK_US * PORT_COUNTS_PER_US))
#define SUM_HALVED 0x80000000u

static uint16_t least;
static uint16_t most;
static uint16_t late;  /* ticks whose work lasted into the next */
static uint32_t sum;   /* counts of `scans` ticks together */
static uint32_t scans;

void pace_begin(void)
{
    least = LINK_NONE_16;
    most = 0;
    late = 0;
    sum = 0;
    scans = 0;
}

/* The mean stays as it is; what is new has twice the weight from then on. */
static void pace_halve(void)
{
    sum >>= 1;
    scans >>= 1;
}

void pace_tick(void)
{
    uint16_t counts = port_tick_counts();
    if (counts >= TICK_COUNTS && late != UINT16_MAX) {
        late++;
    }
    if (counts < least) {
        least = counts;
    }
    if (counts > most) {
        most = counts;
    }
    sum += counts;
    scans++;
    if (sum >= SUM_HALVED) {
        pace_halve();
    }
}

uint8_t pace_answer(uint8_t *payload)
{
    uint8_t *at = link_put_8(payload, PORT_COUNTS_PER_US);
    at = link_put_16(at, TICK_US);
    at = link_put_16(at, late);
    at = link_put_16(at, least);
    at = link_put_16(at, most);
    at = link_put_32(at, scans);
    at = link_put_32(at, sum);
    return (uint8_t)(at - payload);
}

#endif

#include "link_counts.h"

#include "chatter.h"
#include "converter.h"
#include "events.h"
#include "expanders.h"
#include "frames.h"
#include "link_bytes.h"
#include "listen.h"
#include "midi_in.h"
#include "outlets.h"
#include "port.h"
#include "queues.h"
#include "remap_store.h"
#include "shoes.h"

#if LINK

#define BIT(count) ((uint32_t)1 << (count))

/* Counted on every board. */
#define KNOWN_ALWAYS \
    (BIT(LINK_MOST_NOTES) | BIT(LINK_MOST_PISTONS) | BIT(LINK_MOST_STOPS) | BIT(LINK_OVERFLOWED) | \
     BIT(LINK_WATCHDOG_RESTARTS) | BIT(LINK_BAD_FRAMES) | BIT(LINK_MIDI_IN_ERRORS) | BIT(LINK_CHATTERS))

static uint32_t known(void)
{
    uint32_t bits = KNOWN_ALWAYS;
    bits |= MIDI_USB ? BIT(LINK_USB_REFUSED) : 0;
    bits |= SHOE_COUNT ? BIT(LINK_SHOES_REPLACED) | BIT(LINK_SHOE_FAULTS) : 0;
    bits |= EXPANDER_COUNT ? BIT(LINK_BUS_FAILURES) | BIT(LINK_BUS_LATE) : 0;
    bits |= LISTEN_PORTS ? BIT(LINK_STROBE_FAULTS) | BIT(LINK_STROBE_SILENCES) : 0;
    bits |= REMAP_ROWS ? BIT(LINK_STORE_WRITES) : 0;
    return bits | (chatter_contact != LINK_NONE_16 ? BIT(LINK_CHATTERER) : 0);
}

/* In the order of enum link_count. */
static uint8_t *put_midi(uint8_t *at)
{
    at = link_put_16(at, queue_most(DUTY_NOTES));
    at = link_put_16(at, queue_most(DUTY_PISTONS));
    at = link_put_16(at, queue_most(DUTY_STOPS));
    at = link_put_16(at, events_overflowed);
    at = link_put_16(at, shoe_values_replaced);
    at = link_put_16(at, port_watchdog_restarts());
    at = link_put_16(at, outlets_usb_refused);
    at = link_put_16(at, frames_bad);
    return link_put_16(at, midi_in_broken);
}

static uint8_t *put_inputs(uint8_t *at)
{
    at = link_put_16(at, expander_failures);
    at = link_put_16(at, expander_late_rounds);
    at = link_put_16(at, remap_store_writes);
    at = link_put_16(at, converter_faults);
    at = link_put_16(at, listen_ignored);
    at = link_put_16(at, listen_silences);
    at = link_put_16(at, chatter_seconds);
    return link_put_16(at, chatter_contact);
}

uint8_t link_counters_answer(uint8_t *payload)
{
    uint8_t *at = put_inputs(put_midi(link_put_32(payload, known())));
    return (uint8_t)(at - payload);
}

#endif

#include "requests.h"

#include "identity.h"
#include "midi.h"
#include "report.h"
#include "silence.h"
#include "stop_orders.h"

static uint8_t carries_notes(uint8_t channel)
{
    for (uint8_t i = 0; i != CHANNEL_COUNT; i++) {
        if (flash_read_byte(&channel_table[i]) == channel) {
            return 1;
        }
    }
    return 0;
}

uint8_t request_channel(uint8_t status, uint8_t first, uint8_t second, uint8_t from)
{
    (void)from;
    uint8_t silences = first == MIDI_ALL_NOTES_OFF || first == MIDI_ALL_SOUND_OFF;
    if ((status & 0xF0u) == MIDI_CONTROL_CHANGE && silences) {
        uint8_t channel = status & 0x0Fu;
        if (!carries_notes(channel)) {
            return 0;
        }
        silence_channel(channel);
        return 1;
    }
    if (!LISTEN_STOPS) {
        return 0;
    }
    stop_order_take(status, first, second);
    return 1; /* or it is found later to be no stop's */
}

uint8_t request_exclusive(const uint8_t *data, uint8_t count, uint8_t from)
{
    if (count == 2 && data[0] == MIDI_NON_COMMERCIAL && data[1] == MIDI_OURS_REQUEST) {
        report_again();
        return 1;
    }
    if (count == 4 && identity_is_asked(data)) {
        identity_ask(from);
        return 1;
    }
    return 0;
}

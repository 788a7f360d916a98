#include "identity.h"

#include "midi.h"
#include "outlets.h"
#include "pump.h"

#define UNIVERSAL 0x7Eu
#define ALL_DEVICES 0x7Fu
#define OUR_DEVICE 0x00u
#define GENERAL_INFORMATION 0x06u
#define IDENTITY_REQUEST 0x01u
#define IDENTITY_REPLY 0x02u
#define PART_BYTES 3
#define REPLY_BYTES 15

/* Behind the manufacturer: family 1 (consoles that were converted), member 1 (contacts alone), each low half first;
 * then four bytes of revision, of which the table's format is the first. */
static const uint8_t reply[REPLY_BYTES] TABLE_IN_FLASH = {
    MIDI_EXCLUSIVE, UNIVERSAL, OUR_DEVICE, GENERAL_INFORMATION, IDENTITY_REPLY, MIDI_NON_COMMERCIAL,
    1, 0, 1, 0, TABLE_FORMAT, 0, 0, 0, MIDI_EXCLUSIVE_END,
};

uint8_t identity_only;
uint8_t identity_begun;
static uint8_t reply_at; /* bytes sent */

void identity_begin(void)
{
    identity_only = 0;
    identity_begun = 0;
    reply_at = 0;
}

uint8_t identity_is_asked(const uint8_t *data)
{
    return data[0] == UNIVERSAL && (data[1] == ALL_DEVICES || data[1] == OUR_DEVICE) &&
           data[2] == GENERAL_INFORMATION && data[3] == IDENTITY_REQUEST;
}

void identity_ask(uint8_t from)
{
    if (identity_only == 0) {
        identity_only = from;
        pump_pending = 1;
    }
}

static void part_send(void)
{
    uint8_t part[PART_BYTES];
    for (uint8_t i = 0; i != PART_BYTES; i++) {
        part[i] = flash_read_byte(&reply[reply_at++]);
    }
    midi_send_exclusive_part(part, PART_BYTES);
}

void identity_next(void)
{
    outlets_aim(identity_only);
    if (identity_begun && midi_exclusive_is_cut()) {
        identity_begun = 0;
        reply_at = 0;
    } else {
        identity_begun = 1;
        part_send();
    }
    if (reply_at == REPLY_BYTES) {
        identity_begin();
    }
    outlets_aim(OUTLETS_ORDINARY);
}

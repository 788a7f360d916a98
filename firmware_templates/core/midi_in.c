#include "midi_in.h"

#include "midi.h"
#include "requests.h"
#include "usb_packets.h"

/* In one tick of at most 2 ms, more than the 6.25 bytes that the wire can bring in it. */
#define BYTES_EACH_TICK 8
#define PACKETS_EACH_TICK 4
/* Between two ticks, behind a stop's order: one message at most, so that the next tick is not late for them. */
#define BYTES_IN_BETWEEN 3

#define FIRST_STATUS 0x80u
#define TUNE_REQUEST 0xF6u
#define SONG_POSITION 0xF2u

uint16_t midi_in_ignored;
uint16_t midi_in_broken;

static struct midi_stream wire_stream;
static struct midi_stream usb_stream;

static void count_up(uint16_t *counter)
{
    if (*counter != UINT16_MAX) {
        (*counter)++;
    }
}

void midi_in_begin(void)
{
    wire_stream.status = 0;
    wire_stream.count = 0;
    usb_stream.status = 0;
    usb_stream.count = 0;
    midi_in_ignored = 0;
    midi_in_broken = 0;
    stop_orders_begin();
}

static void count_unless(uint8_t understood)
{
    if (!understood) {
        count_up(&midi_in_ignored);
    }
}

/* Data bytes behind a status; 0 for a system exclusive message and for statuses without data. */
static uint8_t data_bytes(uint8_t status)
{
    if (status < MIDI_EXCLUSIVE) {
        return midi_is_short(status) ? 1 : 2;
    }
    if (status == SONG_POSITION) {
        return 2;
    }
    return status == 0xF1u || status == 0xF3u; /* time code quarter frame, song select */
}

static uint8_t is_undefined(uint8_t status)
{
    return status == 0xF4u || status == 0xF5u;
}

/* A status ends what came before it: properly only if that was whole. */
static void stream_take_status(struct midi_stream *stream, uint8_t status, uint8_t from)
{
    uint8_t in_exclusive = stream->status == MIDI_EXCLUSIVE;
    if (in_exclusive && status == MIDI_EXCLUSIVE_END) {
        count_unless(stream->count <= MIDI_IN_KEPT && request_exclusive(stream->data, stream->count, from));
    } else if (in_exclusive || stream->count != 0 || is_undefined(status) || status == MIDI_EXCLUSIVE_END) {
        count_up(&midi_in_broken);
    } else if (status == TUNE_REQUEST) {
        count_up(&midi_in_ignored);
    }
    stream->count = 0;
    stream->status = status == MIDI_EXCLUSIVE || data_bytes(status) != 0 ? status : 0;
}

/* The last byte of a message has come: system common is no order, and ends running status. */
static void stream_message(struct midi_stream *stream, uint8_t from)
{
    stream->count = 0;
    if (stream->status < MIDI_EXCLUSIVE) {
        count_unless(request_channel(stream->status, stream->data[0], stream->data[1], from));
    } else {
        stream->status = 0;
        count_up(&midi_in_ignored);
    }
}

static void stream_take_data(struct midi_stream *stream, uint8_t byte, uint8_t from)
{
    if (stream->status == 0) {
        count_up(&midi_in_broken);
        return;
    }
    if (stream->count < MIDI_IN_KEPT) {
        stream->data[stream->count] = byte;
    }
    if (stream->count <= MIDI_IN_KEPT) {
        stream->count++;
    }
    if (stream->count == data_bytes(stream->status)) {
        stream_message(stream, from);
    }
}

static void stream_take(struct midi_stream *stream, uint8_t byte, uint8_t from)
{
    if (byte >= MIDI_REAL_TIME) {
        return;
    }
    if (byte >= FIRST_STATUS) {
        stream_take_status(stream, byte, from);
    } else {
        stream_take_data(stream, byte, from);
    }
}

#if MIDI_USB

/* A packet with a channel message holds all of it; its code must say the same as its status. */
static void packet_take_channel(const uint8_t packet[USB_PACKET_BYTES])
{
    if (packet[1] >> 4 != packet[0] || packet[2] >= FIRST_STATUS || packet[3] >= FIRST_STATUS) {
        count_up(&midi_in_broken);
    } else {
        count_unless(request_channel(packet[1], packet[2], packet[3], OUTLET_USB));
    }
}

static void packet_take(const uint8_t packet[USB_PACKET_BYTES])
{
    uint8_t size = usb_packet_size(packet[0]);
    if (size == 0) {
        count_up(&midi_in_ignored);
    } else if (packet[0] >= USB_CODE_CHANNEL && packet[0] != USB_CODE_SINGLE) {
        packet_take_channel(packet);
    } else {
        for (uint8_t i = 1; i <= size; i++) {
            stream_take(&usb_stream, packet[i], OUTLET_USB);
        }
    }
}

static void usb_in_take(void)
{
    uint8_t packet[USB_PACKET_BYTES];
    for (uint8_t left = PACKETS_EACH_TICK; left != 0 && !stop_order_waits && port_usb_take(packet); left--) {
        packet_take(packet);
    }
}

#endif

#if MIDI_WIRE

static void wire_in_take_bytes(uint8_t most)
{
    uint8_t byte;
    for (uint8_t left = most; left != 0 && !stop_order_waits && port_wire_take(&byte); left--) {
        stream_take(&wire_stream, byte, OUTLET_WIRE);
    }
}

#endif

void midi_in_tick(void)
{
#if MIDI_WIRE
    wire_in_take_bytes(BYTES_EACH_TICK);
#endif
#if MIDI_USB
    usb_in_take();
#endif
    if (LISTEN_STOPS) {
        stop_orders_tick();
    }
}

void midi_in_go_on(void)
{
    uint8_t outcome = stop_order_step();
    if (outcome == STOP_ORDER_UNKNOWN) {
        count_up(&midi_in_ignored);
    }
#if MIDI_WIRE
    wire_in_take_bytes(BYTES_IN_BETWEEN);
#endif
}

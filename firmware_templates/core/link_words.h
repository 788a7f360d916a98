/* The words of the board link: what a computer can ask of the board, and what the board answers.
 *
 * On the line a frame is COBS(body) 0x00 (consistent overhead byte stuffing, Cheshire and Baker, 1999), and
 *
 *     body = version, kind, sequence, payload (0 to 56 bytes), check low, check high
 *
 * The check is CRC-16/IBM-3740 (polynomial 0x1021, start 0xFFFF, nothing reflected or inverted) of everything before
 * it.  Numbers are little-endian; "16" and "32" below are their bits, everything else is one byte.  A contact is
 * lane * 8 + bit.  A board that answers may know a longer answer than is written here: what follows is to be ignored.
 *
 * The computer asks, the board answers: it never speaks unasked, and it takes the next question when the answer before
 * has gone out.  The answer has the kind of the question plus LINK_ANSWER, and its sequence; or it is LINK_REFUSED, the
 * kind that was asked, and a reason.  A frame with a wrong check, a wrong length or broken stuffing is counted and not
 * answered; an empty frame (0x00 alone) is nothing at all, and brings a board in mid-frame back to the beginning of
 * one.  A frame of another version is refused if its check is right: the answer bears the board's own version.  The
 * same frame again (sequence, kind and check as the last one's) is answered again, but what it orders is not done
 * again.
 */
#ifndef LINK_WORDS_H
#define LINK_WORDS_H

#define LINK_VERSION 1

#define LINK_HEAD_BYTES 3 /* version, kind, sequence */
#define LINK_CHECK_BYTES 2
#define LINK_PAYLOAD_MAX 56
#define LINK_BODY_MAX (LINK_HEAD_BYTES + LINK_PAYLOAD_MAX + LINK_CHECK_BYTES)

#define LINK_ANSWER 0x80  /* is added to the kind of the question */
#define LINK_REFUSED 0xFF /* kind asked, reason (enum link_reason) */

/* Questions.  Before the arrow what is asked with, behind it what is answered. */

/* -> table format, chip (enum link_chip), flags (enum link_flag), lanes, runs, groups, shoes, tick in us 16, counts of
 * the tick's clock in 1 us, outlets (bit 0 the wire, bit 1 USB), free memory 16, description bytes 32, lanes captured
 * at once, remap rows, remap rows in use, restart cause, watchdog restarts 16, seconds since the start 32.
 *
 * The cause of the restart: bit 0 power-on, bit 1 from outside, bit 2 brown-out, bit 3 watchdog; 0 is unknown. */
#define LINK_WHO 0x01
#define LINK_WHO_BYTES 27

/* which (enum link_text), offset 16 -> which, offset 16, total 16, bytes.  UTF-8 and digits, no zero at the end; an
 * offset at or behind the end brings no bytes. */
#define LINK_TEXT 0x02
#define LINK_TEXT_BYTES 48

/* offset 32 -> offset 32, bytes of the packed job description.  No bytes at or behind its end. */
#define LINK_DESCRIPTION 0x03
#define LINK_DESCRIPTION_BYTES 48

/* first lane -> first lane, count, and for each: level, on, muted.  `level` is the byte just read for this answer, 1
 * for high; `on` is the debounced state, 1 for on; `muted` are those that were on at the start and not released
 * since. */
#define LINK_LANES 0x04
#define LINK_LANES_MOST 18

/* first shoe -> first shoe, count, and for each: counts 16, value 16, lowest counts 16, highest counts 16.  Value and
 * counts are LINK_NONE_16 as long as they are unknown; counts are unknown for ever where a shoe has no converter.  A
 * value has 7 bits, or 14 where the shoe sends a fine half. */
#define LINK_SHOES 0x05
#define LINK_SHOES_MOST 6

/* -> nothing; lowest and highest of every shoe start anew. */
#define LINK_SHOES_ANEW 0x06

/* -> known 32 (bit n: this board counts count n), LINK_COUNTS numbers of 16 (enum link_count).  65535 is that many or
 * more; a number that is not known means nothing. */
#define LINK_COUNTERS 0x07

/* -> counts of the tick's clock in 1 us, tick in us 16, late 16, least 16, most 16, scans 32, sum 32.  `least` and
 * `most` are the counts from the beginning of a tick to the end of its work, `sum` those of `scans` ticks together,
 * which is their mean: both are halved now and then.  `late` is the number of ticks whose work lasted into the next
 * one, so that its scan began late.  No tick yet: least is LINK_NONE_16. */
#define LINK_PACE 0x08

/* -> nothing; the numbers of LINK_PACE start anew. */
#define LINK_PACE_ANEW 0x09

/* first lane, rest -> first lane, lanes, group, rest, late.  Captures the bounce of as many lanes from there on as the
 * board can and belong to the same run; what was captured before is forgotten.  A contact has come to rest when `rest`
 * (1 to 255) samples in a row were alike.  Sampled once in each sampling period of the group, so that is the
 * resolution.  `late` is the number of samples, at most 255, that came later than they should.  The board first clears
 * its memory, for some ticks in which LINK_CAPTURED is refused with LINK_BUSY; then the capture begins. */
#define LINK_CAPTURE 0x10

/* contact 16 -> contact 16, level, spikes, then for pressing and for releasing 14 bytes each: strokes, edges of the
 * last stroke, most edges of a stroke, shortest first stay, longest bounce 16, and the strokes in LINK_BINS bins;
 * then late, the number of samples of the capture, at most 255, that came later than they should.
 *
 * A stroke begins with its first edge and is over when the contact has come to rest.  Its bounce is the number of
 * samples from the first edge to the last: 0 when there was one edge only.  Bin 0 holds those, bin n the bounces from
 * 2^(n-1) to 2^n - 1, the last bin all longer ones.  The first stay is the number of samples from the first edge to
 * the second, LINK_NONE_8 while no stroke has bounced.  A spike comes to rest as it began, and is in no other number.
 * `level` is 1 for on.  Numbers of 8 bits stop at 255, the bounce at 65535. */
#define LINK_CAPTURED 0x11
#define LINK_BINS 8

/* -> nothing; ends the capture, whose numbers stay. */
#define LINK_CAPTURE_END 0x12

/* row -> row, rows in use, store (enum link_store), contact 16, plays 16.  A row that is not in use has LINK_NONE_16
 * for both.  `store` says how the rows in use stand to those that are kept over a restart. */
#define LINK_REMAP 0x20

/* contact 16, plays 16 -> row.  From now on the contact sends what the plan wrote for the other, until the next restart
 * or, once kept, for good.  Both must be on the same duty and at rest.  A contact that plays itself leaves the list:
 * the row in the answer is then LINK_NONE_8. */
#define LINK_REMAP_PUT 0x21

/* -> nothing; begins to write the rows into the non-volatile store.  LINK_REMAP says when it is done. */
#define LINK_REMAP_KEEP 0x22

/* -> nothing; empties the list, not what is kept.  All contacts in it must be at rest. */
#define LINK_REMAP_CLEAR 0x23

/* -> nothing; silences whatever sounds. */
#define LINK_PANIC 0x30

/* -> nothing; says again how the stops and shoes stand. */
#define LINK_REPORT 0x31

#define LINK_NONE_8 0xFF
#define LINK_NONE_16 0xFFFF

enum link_reason {
    LINK_OTHER_VERSION = 1, /* of the protocol */
    LINK_UNKNOWN_KIND = 2,
    LINK_WRONG_LENGTH = 3,  /* of the payload */
    LINK_OUT_OF_RANGE = 4,  /* no such lane, contact, shoe, row or text */
    LINK_NOT_HERE = 5,      /* this board was built without it */
    LINK_BUSY = 6,          /* the store is written, a capture prepared, or changes wait for the wire: ask again */
    LINK_NOT_AT_REST = 7,   /* a contact is on: release it, and ask again */
    LINK_FULL = 8,          /* all rows are in use */
    LINK_OTHER_DUTY = 9,    /* the two contacts serve different duties, or one of them sends nothing */
    LINK_TOO_OFTEN = 10,    /* the store is spared: ask again in five minutes */
    LINK_NOT_RUNNING = 11,  /* no capture has been begun */
};

enum link_chip {
    LINK_CHIP_UNKNOWN = 0,
    LINK_CHIP_HOST = 1, /* a board in software */
    LINK_CHIP_ATMEGA2560 = 2,
    LINK_CHIP_ATMEGA32U4 = 3,
    LINK_CHIP_RP2040 = 4,
};

enum link_flag {
    LINK_FLAG_CAPTURING = 0x01, /* a capture is running */
    LINK_FLAG_FOREIGN = 0x02,   /* the store keeps the rows of another job, which are not used */
};

enum link_text { LINK_JOB_NAME = 0, LINK_JOB_DIGEST = 1, LINK_JOB_REVISION = 2 };

enum link_store {
    LINK_STORE_EMPTY = 0,   /* nothing is kept for this job */
    LINK_STORE_KEPT = 1,    /* the rows in use are those kept */
    LINK_STORE_DIFFERS = 2, /* they have changed since */
    LINK_STORE_WRITING = 3, /* they are being written */
    LINK_STORE_FAILED = 4,  /* the last write did not read back as it was written */
};

enum link_count {
    LINK_MOST_NOTES = 0,        /* most entries that waited in each queue behind a scan */
    LINK_MOST_PISTONS = 1,
    LINK_MOST_STOPS = 2,
    LINK_OVERFLOWED = 3,        /* changes that met a full queue; made good later */
    LINK_SHOES_REPLACED = 4,    /* shoe values replaced by newer ones before they could be sent */
    LINK_WATCHDOG_RESTARTS = 5, /* since power-on */
    LINK_USB_REFUSED = 6,       /* times that a USB host was there but took nothing */
    LINK_BAD_FRAMES = 7,        /* frames of this link that were cut, broken or failed their check */
    LINK_MIDI_IN_ERRORS = 8,    /* messages of MIDI in that were cut short or are none */
    LINK_BUS_FAILURES = 9,      /* times that an expander did not answer */
    LINK_BUS_LATE = 10,         /* rounds of the expanders' bus that were not over in time */
    LINK_STORE_WRITES = 11,     /* of the rows, since the start */
    LINK_SHOE_FAULTS = 12,      /* shoes that read outside their ends: a broken or shorted wire */
    LINK_STROBE_FAULTS = 13,    /* strobes of a foreign scanner that overlapped or were too short */
    LINK_STROBE_SILENCES = 14,  /* times that a foreign scanner fell silent */
    LINK_CHATTERS = 15,         /* seconds in which a contact chattered without end */
    LINK_CHATTERER = 16,        /* no count: the contact that did so last; known once there was one */
    LINK_COUNTS = 17,
};

#endif

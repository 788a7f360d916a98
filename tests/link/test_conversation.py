"""Boards that misbehave, on real ports: every failure is a sentence with a remedy, and nothing waits for ever."""

from __future__ import annotations

import os
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from retrofit.firmware.link.answers import captured_of
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.conversation import Conversation, Patience
from retrofit.firmware.link.errors import (
    AnswerError,
    LinkError,
    PortGoneError,
    PortNotOpenedError,
    RefusedError,
    SilenceError,
    TimeUpError,
    VersionError,
)
from retrofit.firmware.link.frames import Body, frame_of
from retrofit.firmware.link.serial_line import SerialLine
from retrofit.firmware.link.words import ANSWER, Chip, Kind, Reason, Text
from tests.link.boards import (
    DIGEST,
    NAME,
    HandMadeBoard,
    first_cut,
    noise,
    of_version,
    replaying,
    silent,
    slowly,
    unplugged_after,
    who_payload,
    wrapped,
)
from tests.link.pseudo_terminal import Behaviour, on_a_port

QUICK = Patience(answer_s=0.15, tries=3, greeting_s=0.6, command_s=20, busy_s=0.5, busy_look_s=0.02)


@contextmanager
def talking_to(behaviour: Behaviour, patience: Patience = QUICK) -> Iterator[Conversation]:
    """Open a real port to a board that behaves so."""
    with on_a_port(behaviour) as name:
        line = SerialLine(name)
        try:
            yield Conversation(line, time.monotonic, patience)
        finally:
            line.close()


def test_a_board_says_who_it_is() -> None:
    """Numbers, texts of any letters and a description in pieces all arrive over a real port."""
    board = HandMadeBoard(description=bytes(range(200)))
    with talking_to(board) as conversation:
        live = LiveBoard(conversation)
        assert (live.who.chip, live.who.tick_us, live.who.uptime_s) == (Chip.ATMEGA2560, 500, 90_061)
        assert [live.text(which) for which in Text] == [NAME, DIGEST, "89abcdef"]
        told: list[tuple[int, int]] = []
        assert live.description(lambda *progress: told.append(progress)) == bytes(range(200))
    assert told[-1] == (200, 200)
    assert [body.sequence for body in board.asked] == list(range(1, len(board.asked) + 1))


def test_a_cut_frame_is_asked_for_again_with_its_sequence() -> None:
    """An answer that is cut spoils itself and the next one; the question goes out again until one is whole."""
    board = HandMadeBoard(spoil=first_cut(1))
    with talking_to(board) as conversation:
        assert LiveBoard(conversation).who.lanes == 2
    assert [(body.kind, body.sequence) for body in board.asked] == [(Kind.WHO, 1)] * 3


@pytest.mark.parametrize("around", [b"boot loader 4.4\r\n\0", b"\xff\x00\x00\x13\x37\x00", bytes(300) + b"\1\0"])
def test_noise_before_and_after_does_no_harm(around: bytes) -> None:
    """What a boot loader or a plug says before and after an answer is passed over."""
    with talking_to(HandMadeBoard(spoil=wrapped(around, around))) as conversation:
        assert LiveBoard(conversation).text(Text.JOB_NAME) == NAME


def test_answers_to_other_questions_are_passed_over() -> None:
    """Old answers that are replayed, of other sequences or kinds, are never taken for the one that is asked for."""
    old = [
        frame_of(Body(Kind.WHO | ANSWER, 200, who_payload(lanes=99))),
        frame_of(Body(Kind.PACE | ANSWER, 1, bytes(17))),
        frame_of(Body(Kind.WHO, 1, who_payload(lanes=98))),
    ]
    with talking_to(HandMadeBoard(spoil=replaying(old))) as conversation:
        assert LiveBoard(conversation).who.lanes == 2


def test_a_board_that_starts_late_is_waited_for() -> None:
    """A board that opening the port has reset answers after a while, and the greeting lasts as long."""
    begun = time.monotonic()
    board = HandMadeBoard()

    def late(content: bytes) -> bytes:
        return board(content) if time.monotonic() - begun > 0.5 else b""

    with talking_to(late, Patience(answer_s=0.1, tries=1, greeting_s=3)) as conversation:
        assert LiveBoard(conversation).who.lanes == 2


@pytest.mark.parametrize(
    ("behaviour", "error", "said"),
    [
        (silent, SilenceError, "nothing came at all; look at plug and lead"),
        (noise, SilenceError, r"bytes came, \d+ of them part of no frame; is this the port"),
        (lambda content: content, SilenceError, "bytes came, 0 of them"),
        (HandMadeBoard(spoil=of_version(9)), VersionError, "speaks version 9 of the link, this program version 1; use"),
        (HandMadeBoard(spoil=lambda *_: b""), SilenceError, "'who are you', asked 4 times"),
        (HandMadeBoard(spoil=unplugged_after(0)), PortGoneError, "the port went away; look at its plug"),
    ],
    ids=["silence", "noise", "echo", "version", "hears and says nothing", "unplugged"],
)
def test_a_greeting_that_fails_says_why(behaviour: Behaviour, error: type[LinkError], said: str) -> None:
    """Silence, noise, an echo, another version and a pulled plug are told apart, each within a few seconds."""
    begun = time.monotonic()
    with talking_to(behaviour) as conversation, pytest.raises(error, match=said):
        LiveBoard(conversation)
    assert time.monotonic() - begun < 5


def test_a_plug_pulled_in_the_middle_of_a_description_is_said() -> None:
    """The port goes away during a transfer: that is said, and no half of a description is returned."""
    board = HandMadeBoard(description=bytes(1000), spoil=unplugged_after(5))
    with talking_to(board) as conversation:
        live = LiveBoard(conversation)
        with pytest.raises(PortGoneError, match="the port went away"):
            live.description()


def test_a_refusal_is_raised_with_its_reason_and_remedy() -> None:
    """A question that the board refuses is not asked again."""
    board = HandMadeBoard()
    with talking_to(board) as conversation:
        live = LiveBoard(conversation)
        with pytest.raises(
            RefusedError, match="refuses 'silence everything': it does not know the question; build"
        ) as raised:
            live.order(Kind.PANIC)
    assert raised.value.reason == Reason.UNKNOWN_KIND
    assert [body.kind for body in board.asked] == [Kind.WHO, Kind.PANIC]


def test_a_busy_board_is_asked_again_under_a_new_number() -> None:
    """A refusal for being busy is no end: the question goes out anew, and its first answer is the one that is used."""
    board = HandMadeBoard(busy=3)
    with talking_to(board) as conversation:
        assert LiveBoard(conversation).text(Text.JOB_DIGEST) == DIGEST
    assert [(body.kind, body.sequence) for body in board.asked][:5] == [
        (Kind.WHO, 1),
        *((Kind.TEXT, sequence) for sequence in (2, 3, 4, 5)),
    ]


def test_a_board_that_stays_busy_is_left() -> None:
    """A board that is busy for ever is asked for as long as is allowed, and not more often than is polite."""
    board = HandMadeBoard(busy=10_000)
    begun = time.monotonic()
    with talking_to(board) as conversation:
        live = LiveBoard(conversation)
        with pytest.raises(RefusedError, match="refuses 'what are you called': it is busy") as raised:
            live.text(Text.JOB_NAME)
    assert raised.value.reason == Reason.BUSY
    assert 0.5 <= time.monotonic() - begun < 5
    assert 2 < len(board.asked) < 2 + 0.5 / 0.02


@pytest.mark.parametrize(
    ("kind", "payload", "ask", "said"),
    [
        (
            Kind.CAPTURE,
            bytes((3, 4, 0, 80, 0)),
            lambda live: live.capture(0, 80),
            "with lane 3 when it is asked for lane 0",
        ),
        (Kind.CAPTURE, bytes((0, 0, 0, 80, 0)), lambda live: live.capture(0, 80), "captures no lane when it is asked"),
        (Kind.CAPTURED, bytes((9, *bytes(31))), lambda live: live.captured(1), "with contact 9 when it is asked for"),
        (Kind.REMAP, bytes((5, *bytes(6))), lambda live: live.remap_row(0), "with row 5 when it is asked for row 0"),
        (Kind.LANES, bytes((1, 2, *bytes(6))), lambda live: live.lanes(), "with lane 1 when it is asked for lane 0"),
        (Kind.SHOES, bytes((1, 1, *bytes(8))), lambda live: live.shoes(), "with shoe 1 when it is asked for shoe 0"),
    ],
)
def test_an_answer_about_something_else_is_refused(
    kind: Kind, payload: bytes, ask: Callable[[LiveBoard], object], said: str
) -> None:
    """A board that answers for another lane, contact, row or shoe is not believed, and nothing is asked for ever."""
    with talking_to(_with_payload(kind, payload)) as conversation, pytest.raises(AnswerError, match=said):
        ask(LiveBoard(conversation))


def test_late_samples_are_unknown_where_a_board_does_not_say() -> None:
    """An answer that ends before the late samples is an older board's; one with them says how many."""
    assert captured_of(bytes(32)).late is None
    assert captured_of(bytes(32) + b"\x07").late == 7


def test_a_whole_command_has_a_limit() -> None:
    """A board that answers, and never comes to an end, is left when the command's time is up."""
    board = HandMadeBoard(description=bytes(60_000), spoil=slowly)
    with talking_to(board, Patience(answer_s=0.2, tries=2, greeting_s=1, command_s=0.4)) as conversation:
        live = LiveBoard(conversation)
        with pytest.raises(TimeUpError, match=r"not done after 0.4 s \(at: what is your job description\)"):
            live.description()


def _with_payload(kind: Kind, payload: bytes) -> HandMadeBoard:
    return HandMadeBoard(
        description=bytes(100),
        spoil=lambda question, frame: (
            frame_of(Body(kind | ANSWER, question.sequence, payload)) if question.kind == kind else frame
        ),
    )


@pytest.mark.parametrize(
    ("kind", "payload", "said"),
    [
        (Kind.WHO, b"\3\2", "'who are you' has 2 bytes, and 27 are expected"),
        (Kind.DESCRIPTION, b"\0\0", "has 2 bytes"),
        (Kind.DESCRIPTION, b"\7\0\0\0abc", "pieces of the job description do not fit together at byte 0"),
        (Kind.DESCRIPTION, b"\0\0\0\0", "do not fit together"),
    ],
)
def test_an_answer_that_cannot_be_is_refused(kind: Kind, payload: bytes, said: str) -> None:
    """Answers too short, of another place, or without an end are said, and never looped over."""
    with talking_to(_with_payload(kind, payload)) as conversation, pytest.raises(AnswerError, match=said):
        LiveBoard(conversation).description()


def test_a_board_that_shows_fewer_lanes_than_it_has_is_refused() -> None:
    """An answer without lanes ends the question instead of asking for ever."""
    with (
        talking_to(_with_payload(Kind.LANES, b"\0\0")) as conversation,
        pytest.raises(AnswerError, match="shows fewer"),
    ):
        LiveBoard(conversation).lanes()


def test_a_port_that_is_not_there_is_said_with_the_list() -> None:
    """A name that is no port gives the system's own reason and the way to the list of ports."""
    with pytest.raises(PortNotOpenedError, match=r"No such file or directory.*retrofit board lists the ports"):
        SerialLine(os.devnull + "-that-is-not-there")


def test_what_is_no_serial_port_is_refused() -> None:
    """A device that is no terminal cannot be opened as a port."""
    with pytest.raises(PortNotOpenedError):
        SerialLine(os.devnull)


def test_closing_a_port_does_not_drop_its_ready_line() -> None:
    """The flag that lets the system lower the line on the last close (POSIX termios, HUPCL) is off after opening."""
    with on_a_port(silent) as name:
        line = SerialLine(name)
        settings = termios.tcgetattr(line._port.fileno())
        line.close()
    assert not settings[2] & termios.HUPCL

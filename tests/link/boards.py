"""Boards made by hand for the tests: one that behaves, and many that do not."""

from __future__ import annotations

import struct
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from retrofit.firmware.link.frames import Body, FrameReader, frame_of
from retrofit.firmware.link.words import ANSWER, REFUSAL, Chip, Kind, Reason, Text
from tests.link.pseudo_terminal import UnpluggedError

NAME, DIGEST, REVISION = "Bench console é", "0123456789abcdef", "89abcdef"


def who_payload(description_bytes: int = 0, lanes: int = 2, shoes: int = 1) -> bytes:
    """What a board says of itself."""
    head = (3, Chip.ATMEGA2560, 0, lanes, 1, 1, shoes)
    return struct.pack("<7BH2BHI4BHI", *head, 500, 2, 1, 3000, description_bytes, 4, 8, 1, 9, 2, 90_061)


@dataclass
class HandMadeBoard:
    """Answers who, text and description as a board does; `spoil` may change the frames that go back."""

    description: bytes = b""
    texts: dict[int, str] = field(default_factory=lambda: dict(enumerate((NAME, DIGEST, REVISION))))
    spoil: Callable[[Body, bytes], bytes] = lambda _, frame: frame
    asked: list[Body] = field(default_factory=list)
    busy: int = 0
    """Times that it says that it is busy before it answers anything but who it is."""
    _reader: FrameReader = field(default_factory=FrameReader)

    def __call__(self, content: bytes) -> bytes:
        """Answer every whole question in what came."""
        return b"".join(self._answered(question) for question in self._reader.take(content))

    def _answered(self, question: Body) -> bytes:
        self.asked.append(question)
        if self.busy and question.kind != Kind.WHO:
            self.busy -= 1
            return frame_of(Body(REFUSAL, question.sequence, bytes((question.kind, Reason.BUSY))))
        payload = self._payload(question)
        if payload is None:
            refusal = Body(REFUSAL, question.sequence, bytes((question.kind, Reason.UNKNOWN_KIND)))
            return self.spoil(question, frame_of(refusal))
        return self.spoil(question, frame_of(Body(question.kind | ANSWER, question.sequence, payload)))

    def _payload(self, question: Body) -> bytes | None:
        match question.kind:
            case Kind.WHO:
                return who_payload(len(self.description))
            case Kind.TEXT:
                which, offset = struct.unpack("<BH", question.payload)
                text = self.texts[Text(which)].encode()
                return struct.pack("<B2H", which, offset, len(text)) + text[offset : offset + 10]
            case Kind.DESCRIPTION:
                (offset,) = struct.unpack("<I", question.payload)
                return question.payload + self.description[offset : offset + 48]
        return None


def silent(_: bytes) -> bytes:
    """Never answers."""
    return b""


def noise(_: bytes) -> bytes:
    """Talks without end, and never says anything."""
    return bytes(range(256)) * 2


def slowly(_: Body, frame: bytes) -> bytes:
    """Takes its time over every answer, as a slow line does."""
    time.sleep(0.01)
    return frame


def first_cut(cuts: int) -> Callable[[Body, bytes], bytes]:
    """Cuts the first frames in half."""
    left = iter(range(cuts))
    return lambda _, frame: frame[: len(frame) // 2] if next(left, None) is not None else frame


def wrapped(before: bytes, after: bytes = b"") -> Callable[[Body, bytes], bytes]:
    """Puts something before and after every answer."""
    return lambda _, frame: before + frame + after


def of_version(version: int) -> Callable[[Body, bytes], bytes]:
    """Answers everything in another version of the link."""
    return lambda question, _: frame_of(
        Body(REFUSAL, question.sequence, bytes((question.kind, Reason.OTHER_VERSION)), version)
    )


def replaying(frames: Iterable[bytes]) -> Callable[[Body, bytes], bytes]:
    """Sends old answers before every new one."""
    old = b"".join(frames)
    return lambda _, frame: old + frame


def unplugged_after(answers: int) -> Callable[[Body, bytes], bytes]:
    """Pulls the plug after so many answers."""
    left = iter(range(answers))

    def spoil(_: Body, frame: bytes) -> bytes:
        if next(left, None) is None:
            raise UnpluggedError
        return frame

    return spoil

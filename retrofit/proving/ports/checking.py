"""Making sure that what calls itself one message is one: other programs may write anything to a port."""

from __future__ import annotations

from retrofit.proving.parser import EXCLUSIVE, EXCLUSIVE_END, EXCLUSIVE_LENGTH_MAX, MidiParser, data_bytes

_UNDEFINED = frozenset((0xF4, 0xF5, 0xF9, 0xFD))
_LENGTHS = {status: 1 + data_bytes(status) for status in (*range(0x80, 0xF0), 0xF1, 0xF2, 0xF3, 0xF6)} | {
    status: 1 for status in range(0xF8, 0x100) if status not in _UNDEFINED
}


def is_whole(message: bytes) -> bool:
    """Return whether these bytes are exactly one message of MIDI 1.0, of a length that is kept."""
    if not message:
        return False
    if message[0] == EXCLUSIVE:
        body = message[1:-1]
        return len(message) <= EXCLUSIVE_LENGTH_MAX and message[-1] == EXCLUSIVE_END and body.isascii()
    return len(message) == _LENGTHS.get(message[0]) and message[1:].isascii()


class Checker:
    """Passes whole messages, takes apart what is not one, and counts what is left over."""

    def __init__(self) -> None:
        self.stray_bytes = 0
        self.cut_messages = 0

    def whole(self, message: bytes) -> list[bytes]:
        """Return the messages in what came as one: nearly always just that."""
        if is_whole(message):
            return [message]
        parser = MidiParser()
        found = parser.feed(message)
        found += parser.feed(b"\xf6")[:-1]  # a tune request ends, and so counts, what is still under way
        self.stray_bytes += parser.stray_bytes
        self.cut_messages += parser.cut_messages
        return found

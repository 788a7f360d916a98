"""Reads USB descriptors as a host does: a configuration taken apart into interfaces, end points and class descriptors.

Written from Universal Serial Bus Specification 2.0, chapter 9, its Interface Association Descriptor ECN, and Universal
Serial Bus Device Class Definition for MIDI Devices, Release 1.0, chapter 6 and appendix A; from memory for the layouts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

CONFIGURATION, INTERFACE, END_POINT, ASSOCIATION, CLASS_INTERFACE, CLASS_END_POINT = 2, 4, 5, 11, 0x24, 0x25
AUDIO, AUDIO_CONTROL, MIDI_STREAMING = 1, 1, 3
BULK = 2


@dataclass(frozen=True)
class EndPoint:
    """An end point: its address (bit 7 set towards the host), kind, largest packet, and class descriptors."""

    address: int
    attributes: int
    packet_bytes: int
    extra: list[bytes] = field(default_factory=list)


@dataclass(frozen=True)
class Interface:
    """An interface: its number, class, subclass and protocol, class descriptors and end points."""

    number: int
    kind: tuple[int, int, int]
    end_point_count: int
    extra: list[bytes] = field(default_factory=list)
    end_points: list[EndPoint] = field(default_factory=list)


@dataclass(frozen=True)
class Association:
    """Interfaces that make one function: the first, how many, and their class."""

    first: int
    count: int
    kind: tuple[int, int, int]


@dataclass(frozen=True)
class Configuration:
    """A configuration taken apart."""

    total_bytes: int
    interface_count: int
    associations: tuple[Association, ...]
    interfaces: tuple[Interface, ...]


def split(data: bytes) -> Iterator[bytes]:
    """Cut descriptors apart by their own lengths.  Raises `ValueError` where one does not fit."""
    at = 0
    while at < len(data):
        length = data[at]
        if length < 2 or at + length > len(data):
            raise ValueError(f"the descriptor at byte {at} says {length} bytes; {len(data) - at} are left")
        yield data[at : at + length]
        at += length


def configuration(data: bytes) -> Configuration:
    """Take a configuration apart.  Raises `ValueError` when it is not well formed."""
    head, *rest = split(data)
    if head[1] != CONFIGURATION or len(head) != 9:
        raise ValueError(f"a configuration begins with 9 bytes of type 2, found {head.hex()}")
    associations: list[Association] = []
    interfaces: list[Interface] = []
    for entry in rest:
        _place(entry, associations, interfaces)
    return Configuration(_word(head, 2), head[4], tuple(associations), tuple(interfaces))


def _place(entry: bytes, associations: list[Association], interfaces: list[Interface]) -> None:
    match entry[1]:
        case 11:
            associations.append(Association(entry[2], entry[3], (entry[4], entry[5], entry[6])))
        case 4:
            interfaces.append(Interface(entry[2], (entry[5], entry[6], entry[7]), entry[4]))
        case 5:
            interfaces[-1].end_points.append(EndPoint(entry[2], entry[3], _word(entry, 4)))
        case 0x24:
            interfaces[-1].extra.append(entry)
        case 0x25:
            interfaces[-1].end_points[-1].extra.append(entry)
        case _:
            raise ValueError(f"a descriptor of unknown type: {entry.hex()}")


def _word(data: bytes, at: int) -> int:
    return data[at] | data[at + 1] << 8


@dataclass(frozen=True)
class Jacks:
    """The jacks of a MIDI streaming interface: identity to kind, and of each OUT jack the jacks that feed it."""

    inputs: dict[int, int]
    outputs: dict[int, int]
    fed_by: dict[int, tuple[int, ...]]


EMBEDDED, EXTERNAL = 1, 2


def jacks(streaming: Interface) -> Jacks:
    """Read the jack descriptors (class definition, tables 6-3 and 6-4)."""
    inputs, outputs, fed_by = {}, {}, {}
    for entry in streaming.extra:
        if entry[2] == 2:
            inputs[entry[4]] = entry[3]
        elif entry[2] == 3:
            outputs[entry[4]] = entry[3]
            fed_by[entry[4]] = tuple(entry[6 + 2 * pin] for pin in range(entry[5]))
    return Jacks(inputs, outputs, fed_by)

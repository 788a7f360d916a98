"""What a console's image occupies, and the deepest that its stack is seen to go while everything happens at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from retrofit.catalogue.front_ends import load_firmware_memory
from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.link.frames import Body, frame_of
from retrofit.firmware.link.words import Kind
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, Scenario, Seen, cycles, run
from tests.emulator.listening_console import noise
from tests.emulator.midi_stream import BYTE_CYCLES
from tests.emulator.playing import play_everything
from tests.emulator.usb import UsbOrder

SEED = 11
DATA_FIRST = {"atmega2560": 0x200, "atmega32u4": 0x100, "rp2040": 0x20000000}
STACK_TOP = {"atmega2560": 0x2200, "atmega32u4": 0xB00, "rp2040": 0x20042000}
"""First address of the data and first address behind the stack (data sheets, data memory maps)."""
QUESTION_US = 25_000
LINK_BYTE_CYCLES = 10 * 16_000_000 // 38_400
PAYLOADS = tuple(bytes(size) for size in range(5))


@dataclass(frozen=True)
class MemoryUse:
    """Bytes: the image's, the board's, the deepest stack seen, what the plan allows it, and what lay unused below it.

    `flash_room` is what a loader leaves.  `unseen` counts what neither data nor the stack ever reached.
    """

    board: str
    flash: int
    flash_room: int
    ram: int
    ram_room: int
    stack: int
    stack_allowed: int
    unseen: int

    @property
    def fits(self) -> bool:
        """Whether everything lay within what the board has and the plan allows."""
        return self.flash <= self.flash_room and self.stack <= self.stack_allowed and self.unseen > 0


def memory_use(console: Console) -> MemoryUse:
    """Play every point with bounce while noise comes in by MIDI and the link is asked everything; return what it took.

    Raises `RuntimeError` when the console's models have anything to complain of.
    """
    board, image = load_catalogue().boards[console.plan.board], console.image
    seen = _everything_at_once(console)
    return MemoryUse(
        board=board.id,
        flash=image.flash,
        flash_room=board.flash_bytes - board.boot_bytes,
        ram=image.ram,
        ram_room=board.ram_bytes,
        stack=STACK_TOP[board.id] - seen.lowest_stack,
        stack_allowed=load_firmware_memory()[board.id].ram_stack,
        unseen=seen.lowest_stack - DATA_FIRST[board.id] - image.ram,
    )


def _everything_at_once(console: Console) -> Seen:
    played = play_everything(console, Random(SEED))
    scenario = console.stage.scenario(console.image.hex, played.end_us / 1000 + 100, played.events)
    spoken_to = _asked(scenario, console.listening_us, played.end_us)
    if console.plan.job.wanted.by_din:
        spoken_to = _sent_noise(spoken_to, console.listening_us, played.end_us)
    seen = run(spoken_to)
    if seen.problems:
        raise RuntimeError(f"the emulated console complains: {'; '.join(seen.problems)}")
    return seen


def _sent_noise(scenario: Scenario, begin_us: float, end_us: float) -> Scenario:
    moments = range(cycles(us=begin_us) + BYTE_CYCLES, cycles(us=end_us), BYTE_CYCLES)
    return replace(scenario, midi_in=tuple(zip(moments, noise(Random(SEED), len(moments)), strict=True)))


def _asked(scenario: Scenario, begin_us: float, end_us: float) -> Scenario:
    frames = _questions(cycles(us=begin_us), cycles(us=end_us))
    by_serial = tuple(
        (cycle + (turn + 1) * LINK_BYTE_CYCLES, byte) for cycle, frame in frames for turn, byte in enumerate(frame)
    )
    by_usb = UsbOrder(tuple((cycle, "link", tuple(frame)) for cycle, frame in frames))
    return replace(scenario, link_in=by_serial, usb=by_usb)


def _questions(begin: int, end: int) -> list[tuple[int, bytes]]:
    """Return every question with payloads of nothing and of some zeros, one behind the other, over and over."""
    bodies = [(kind, payload) for payload in PAYLOADS for kind in Kind]
    moments = range(begin, end, QUESTION_US * CYCLES_PER_US)
    asked = (bodies[turn % len(bodies)] for turn in range(len(moments)))
    return [
        (cycle, frame_of(Body(kind, turn & 0xFF, payload)))
        for turn, (cycle, (kind, payload)) in enumerate(zip(moments, asked, strict=True))
    ]

"""What is connected to a keyboard that the organ scans itself: one lead from each strobe and one from each return."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.load import load_catalogue
from retrofit.papers.connection import Connection, Section
from retrofit.papers.fitted_parts import chosen_parts, parts_words, strobe_parts
from retrofit.plan.model import ConversionPlan
from retrofit.scan.layout import ListenLayout, Source

BOARD = "board"


def listen_sections(plan: ConversionPlan) -> Iterator[Section]:
    """Yield the section of the strobes and returns; nothing where nothing is listened to."""
    layout = plan.layout.listener
    if layout is None:
        return
    groups = dict.fromkeys(lane.group for lane in plan.layout.lanes if lane.source is Source.LISTEN)
    heading = (
        f"LISTENING: strobes and returns of {', '.join(groups)}; the organ's own scanner goes on, nothing of ours "
        "drives a line",
        f"a strobe is active {'low' if layout.active_low else 'high'}; keep every lead from the line to its resistor "
        "as short as the plan takes it",
    )
    yield Section(heading, (*_strobes(plan, layout), *_returns(plan, layout)))


def _strobes(plan: ConversionPlan, layout: ListenLayout) -> Iterator[Connection]:
    parts = parts_words(strobe_parts(plan))
    for number, pin in enumerate(layout.strobe_pins):
        yield Connection(BOARD, pin, f"strobe {number}", f"strobe {number} of the organ's scanner", parts)


def _returns(plan: ConversionPlan, layout: ListenLayout) -> Iterator[Connection]:
    pins = {(pin.port, pin.bit): pin.name for pin in load_catalogue().boards[plan.board].pins}
    owners = {lane.where: lane.group for lane in plan.layout.lanes if lane.source is Source.LISTEN}
    for bank, (port, bits) in enumerate(zip(layout.return_ports, layout.return_bits, strict=True)):
        group = owners.get(str(bank + 1), "")
        for bit in (bit for bit in range(8) if bits >> bit & 1):
            number = 8 * bank + bit
            to = f"return {number} of the organ's scanner"
            yield Connection(
                BOARD, pins[port, bit], f"return {number}", to, parts_words(chosen_parts(plan, group)), group
            )

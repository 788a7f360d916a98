"""Prints what drive styles, pre-charge and listening cost the firmware: `python -m tests.scan.calibrate_front_ends`.

One matrix is planned with its rows floating and driven, its columns charged and not; each is left alone in the
emulator, and the length of its quiet run says what a row takes.  A keyboard that the organ scans is played, bytes
coming in by MIDI and link without a pause, while the interrupt of its strobes is watched; `listen_late` is the greatest
time from the edge of a strobe to the check behind its reading, the wait and the ports left out.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

from retrofit.catalogue.load import load_catalogue
from retrofit.survey.load import parse_job
from tests.emulator.demos import Console, console
from tests.emulator.harness import Scanner, Seen, run
from tests.emulator.playing import play_everything
from tests.plan.jobs import GREAT, HEAD, OURS, keys

CYCLES_PER_US = 16
STROBE_VECTOR = 0x16
"""Of pin changes of port K (Atmel 2549, interrupt vectors; in words)."""
QUIET_MS = 2900
SCANNED = Path(__file__).parents[1] / "plan" / "awkward" / "scanned_keyboard.toml"
LONG_MATRIX = (
    HEAD + "[wanted]\npower_on_wait_s = 0.1\n" + GREAT + keys(61)
    + OURS.replace("1,0 m", "8 m")
    + 'diodes = "schottky"\n[groups.wanted]\ninterface = "matrix"\nsense = "pull-up"\n'
)  # fmt: skip


def prompt(text: str) -> Console:
    """Return the console of a job that reports its state soon after power-on."""
    job = parse_job(text, "calibration.toml")
    return console(job.model_copy(update={"wanted": job.wanted.model_copy(update={"power_on_wait_s": 0.1})}))


def row_cycles(drive: str, charged: bool) -> float:
    """Return what a row of the long matrix takes without its waits."""
    built = prompt(LONG_MATRIX + f'matrix_drive = "{drive}"\nmatrix_precharge = {str(charged).lower()}\n')
    (matrix,) = built.plan.layout.matrices
    waits = CYCLES_PER_US * (matrix.settle_us + matrix.precharge_us)
    (shape,) = run(built.stage.scenario(built.image.hex, QUIET_MS)).scans["quiet"].values()
    run_cycles: float = shape["runs"][0]["mean"]
    opening = load_catalogue().firmware_costs["atmega2560"].run
    return (run_cycles - opening) / len(matrix.row_pins) - waits


@dataclass(frozen=True)
class Listened:
    """A scanned console as it was played: what was seen, the settle wait in cycles, and its ports of returns."""

    seen: Seen
    settle: float
    ports: int

    @property
    def reads(self) -> list[float]:
        """Cycles of each interrupt that read a strobe, without the wait."""
        return [cycles - self.settle for cycles in self.seen.interrupts if cycles > self.settle]

    @property
    def passes(self) -> list[int]:
        """Cycles of each interrupt at the end of a strobe."""
        return [cycles for cycles in self.seen.interrupts if cycles <= self.settle]

    @property
    def late(self) -> float:
        """The greatest time from a strobe's edge to the check behind its reading, without the wait."""
        latest: float = self.seen.scanner["latest_check"]
        return latest - self.settle


def listened(text: str) -> Listened:
    """Play a scanned console and watch the interrupt of its strobes."""
    built = prompt(text)
    played = play_everything(built, Random(3))
    scenario = built.stage.scenario(built.image.hex, played.end_us / 1000 + 50, played.events)
    layout = built.plan.layout.listener
    assert layout is not None
    midi_in, link_in = _bytes(played.end_us, 320), _bytes(played.end_us, 261)
    seen = run(replace(scenario, watch_vector=STROBE_VECTOR, midi_in=midi_in, link_in=link_in))
    return Listened(seen, CYCLES_PER_US * layout.settle_us, len(layout.return_ports))


def _bytes(end_us: float, every_us: int) -> tuple[tuple[int, int], ...]:
    """Return a line that is never idle: what it says is nothing that the board heeds."""
    return tuple((CYCLES_PER_US * at_us, 0xFE) for at_us in range(0, int(end_us), every_us))


def lane_cycles(text: str) -> float:
    """Return what taking a kept byte costs the scan, the organ being off."""
    built = prompt(text)
    scenario = built.stage.scenario(built.image.hex, QUIET_MS)
    assert isinstance(scenario.scanner, Scanner)
    silent = replace(scenario, scanner=replace(scenario.scanner, off=((0, 1e12),)))
    (shape,) = run(silent).scans["quiet"].values()
    run_cycles: float = shape["runs"][0]["mean"]
    return (run_cycles - load_catalogue().firmware_costs["atmega2560"].run) / built.plan.layout.runs[0].lane_count


def figures() -> Iterator[tuple[str, float]]:
    """Yield each cost by its name."""
    plain = row_cycles("floating", charged=False)
    yield "matrix_row", plain
    yield "matrix_driven", row_cycles("push-pull", charged=False) - plain
    yield "matrix_charge", row_cycles("floating", charged=True) - plain
    text = SCANNED.read_text(encoding="utf-8")
    yield "listen_lane", lane_cycles(text)
    narrow, wide = listened(text), listened(text.replace("returns = 8", "returns = 16"))
    port = (max(wide.reads) - max(narrow.reads)) / (wide.ports - narrow.ports)
    yield "listen_port", port
    yield "listen_read", max(narrow.reads) - narrow.ports * port
    yield "listen_pass", float(max(narrow.passes))
    yield "listen_late", max(found.late - found.ports * port for found in (narrow, wide))


def main() -> None:
    """Measure and print."""
    for name, cycles in figures():
        sys.stdout.write(f"{name} = {cycles:.1f}\n")


if __name__ == "__main__":
    main()

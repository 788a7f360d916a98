"""Scenarios, images and programs that make no sense are refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.emulator.build import BuildError, build_program
from tests.emulator.harness import Chain, Matrix, Scenario, run, run_order
from tests.emulator.programs import PRELUDE

pytestmark = pytest.mark.emulator


@pytest.mark.parametrize(
    ("events", "words"),
    [
        ([[0, "chain", 0, 0, 0], [9, "shoe", 1, 2]], "event 1: unknown kind 'shoe'"),
        ([[9, "port", "K", 1, 1], [3, "port", "K", 1, 0]], "event 1: cycle 3"),
    ],
)
def test_events_that_make_no_sense_are_refused(events: list[list[object]], words: str) -> None:
    """An unknown kind of event and events out of order are named by their place in the list."""
    image = build_program(f"{PRELUDE} int main(void) {{ for (;;) {{}} }}")
    with pytest.raises(RuntimeError, match=words):
        run_order({**Scenario(hex=image.hex, cycles=1000, chain=Chain(1)).as_json(), "events": events})


def test_an_unknown_diode_fault_is_refused() -> None:
    """Only a shorted diode is modelled."""
    image = build_program(f"{PRELUDE} int main(void) {{ for (;;) {{}} }}")
    order = Scenario(hex=image.hex, cycles=1000, matrices=(Matrix((("C", 0),), "A", 1),)).as_json()
    order["matrices"][0]["diodes"] = [[0, 0, "warm"]]
    with pytest.raises(RuntimeError, match="'warm' is no fault"):
        run_order(order)


def test_a_program_that_does_not_compile_gives_the_compilers_words() -> None:
    """The compiler's own message is in the error."""
    with pytest.raises(BuildError, match="expected expression"):
        build_program("int main(void) { return ; + }")


def test_a_damaged_image_is_refused_with_its_line(tmp_path: Path) -> None:
    """A hex record whose sum does not come out is named by its line."""
    image = build_program(f"{PRELUDE} int main(void) {{ for (;;) {{}} }}")
    lines = image.hex.read_text().splitlines()
    lines[1] = lines[1][:-2] + ("00" if lines[1][-2:] != "00" else "01")
    damaged = tmp_path / "damaged.hex"
    damaged.write_text("\n".join(lines))
    with pytest.raises(RuntimeError, match="line 2"):
        run(Scenario(hex=damaged, cycles=1000))

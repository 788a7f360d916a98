"""The bench: its figures hang together with the wire's own limits, its guards fire, and missed goals are said."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import pytest

from tests.emulator import bench
from tests.emulator.bench_console import FIRST_EDGE, UNEVEN, Bench, bench_console, bench_plan
from tests.emulator.bench_latency import worst_latencies_us
from tests.emulator.bench_scans import (
    EIGHT_REGISTERS,
    TWENTY_REGISTERS,
    bouncing_scans,
    point_at,
    quiet_byte_cycles,
    quiet_scans,
    run_soundly,
    whole_change_scans,
)
from tests.emulator.bench_tables import GOALS, QUIET, RAM, Figure, Section, table
from tests.emulator.build import BuildError, build_program
from tests.emulator.harness import CYCLES_PER_US, Scenario, cycles, run

SMALL = bench.Effort(bouncing=1, at_once=1, presses=1)
MET = Figure("a quiet scan", 59.5, "µs", 40, QUIET)
MISSED = Figure("too much memory", 2100, "bytes", goal=RAM)


@pytest.mark.emulator
def test_everything_that_the_command_measures_is_sound() -> None:
    """No goal is left out, each figure is a number above what the wire alone takes, and each has a line of its own."""
    measured = tuple(bench.sections(SMALL))
    figures = [figure for section in measured for figure in section.figures]
    assert {figure.goal for figure in figures} == {None, *GOALS}
    assert all(isfinite(figure.measured) and figure.measured > 0 for figure in figures)
    assert all(figure.measured > figure.wire for figure in figures if figure.wire is not None)
    assert all(figure.unit == figure.goal.unit for figure in figures if figure.goal is not None)
    text = table(measured)
    for section in measured:
        block = text.split(f"\n{section.heading}\n")[1].split("\n\n")[0]
        assert [line.strip().split("  ")[0] for line in block.splitlines()] == [each.what for each in section.figures]


@pytest.mark.emulator
@pytest.mark.parametrize("spi_hz", [8_000_000, 4_000_000])
def test_the_chain_runs_at_the_clock_that_is_measured(spi_hz: int) -> None:
    """The clock of the chain is not the planner's but the bench's, and all 40 registers are read in each scan."""
    console = bench_console(Bench(spi_hz))
    chain = run(console.stage.scenario(console.image.hex, 200)).chain
    assert list(chain["modes"]) == [f"mode 2, {spi_hz // 1_000_000} MHz"]
    assert chain["transfers"] >= 40 * chain["loads"]


@pytest.mark.emulator
def test_more_to_do_takes_longer() -> None:
    """Quiet, 20 contacts in 8 registers, 20 contacts in 20 registers, all contacts: each worst scan is longer."""
    quiet = quiet_scans(bench.FASTEST)
    worst = [
        max(bouncing_scans(bench.FASTEST, EIGHT_REGISTERS, 1)),
        max(bouncing_scans(bench.FASTEST, TWENTY_REGISTERS, 1)),
        max(whole_change_scans(bench.FASTEST, 1)),
    ]
    assert min(quiet) == max(quiet) >= cycles(us=bench.FASTEST.wire_us)
    assert sorted({max(quiet), *worst}) == [max(quiet), *worst]


@pytest.mark.emulator
def test_a_register_costs_its_bits_and_some_cycles() -> None:
    """Eight bits at half the controller's clock are 16 cycles; what is paid beyond is less than as much again."""
    assert 16 <= quiet_byte_cycles(Bench(8_000_000, keys=UNEVEN)) < 32


@pytest.mark.emulator
def test_a_press_takes_its_period_and_the_shift_out() -> None:
    """At the worst phase a press waits for a whole period and for the registers before its own; then it is handled."""
    found = worst_latencies_us(bench.FASTEST, 1, range(0, 40, 13))
    period_us = bench_console(bench.FASTEST).plan.tick_us
    beyond = [found[register] - period_us - (register + 1) * 1.0 for register in (0, 13, 26, 39)]
    assert list(found) == [0, 13, 26, 39]
    assert all(0 < each < max(quiet_scans(bench.FASTEST)) / CYCLES_PER_US for each in beyond)
    assert sorted(found.values()) == list(found.values())


def test_the_contacts_stand_as_they_are_called() -> None:
    """Twenty contacts in twenty registers, and twenty in eight registers, no place twice, on a chain of 320."""
    assert [len(set(spread)) for spread in (TWENTY_REGISTERS, EIGHT_REGISTERS)] == [20, 20]
    assert [len({register for register, _ in spread}) for spread in (TWENTY_REGISTERS, EIGHT_REGISTERS)] == [20, 8]
    for each in (bench.FASTEST, bench.ONE_GROUP, bench.COUNTED, Bench(8_000_000, keys=UNEVEN)):
        plan = bench_plan(each)
        assert (plan.layout.registers, len(plan.layout.addresses), plan.errors) == (40, 320, ())
    assert {group.debounce.hold * group.period_us for group in bench_plan(bench.FASTEST).groups if group.debounce} == {
        FIRST_EDGE["hold_ms"] * 1000
    }


def test_a_place_without_a_contact_is_refused() -> None:
    """Sixty keys leave four bits of the last register unused: nothing can be measured there."""
    plan = bench_plan(Bench(8_000_000, keys=(60,)))
    assert point_at(plan, 7, 3)
    with pytest.raises(ValueError, match="no point at bit 7 of register 7"):
        point_at(plan, 7, 7)


@pytest.mark.emulator
def test_a_run_with_complaints_is_no_measurement() -> None:
    """A byte sent with the transmitter off is something to complain of: no figure comes out."""
    image = build_program("#include <avr/io.h>\nint main(void) { UDR1 = 0x90; for (;;) {} }")
    with pytest.raises(RuntimeError, match="transmitter is off"):
        run_soundly(Scenario(hex=image.hex, cycles=cycles(ms=1)))


def test_a_goal_is_reached_or_missed_in_words() -> None:
    """The last lines count the goals reached and name each one missed, with by how much."""
    assert (MET.verdict, MISSED.verdict) == ("reached", "missed by 52 bytes")
    assert Figure("at the limit", 60, "µs", goal=QUIET).verdict == "reached"
    assert Figure("no goal", 1e9, "µs").verdict == ""
    lines = table([Section("memory", (MET, MISSED))]).splitlines()
    assert lines[-2:] == ["goals reached: 1 of 2", "goal missed: too much memory (missed by 52 bytes)"]
    assert lines[3].split() == ["a", "quiet", "scan", "59.50", "µs", "40", "µs", "1.49", "60", "µs", "reached"]


def test_a_missed_goal_is_no_failure(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The table goes to stdout, what is under way to stderr, and the exit code is 0."""
    monkeypatch.setattr(bench, "sections", lambda _: iter([Section("memory", (MISSED,))]))
    assert bench.main([]) == 0
    out, err = capsys.readouterr()
    assert "missed by 52 bytes" in out
    assert err == "measured: memory\n"


def test_a_build_that_fails_ends_the_bench(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The compiler's words go to stderr, nothing to stdout, and the exit code is 1."""

    def refused(_: bench.Effort) -> Iterator[Section]:
        raise BuildError("avr-gcc stopped with 1")

    monkeypatch.setattr(bench, "sections", refused)
    assert bench.main([]) == 1
    assert capsys.readouterr() == ("", "bench: avr-gcc stopped with 1\n")

"""The bench: its figures hang together with the wire's own limits, its guards fire, and missed goals are said."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import pytest

from tests.emulator import bench
from tests.emulator.bench_board import BoardBench, board_sections
from tests.emulator.bench_console import (
    EVEN,
    FIRST_EDGE,
    Bench,
    bench_console,
    bench_plan,
    even_keys,
    largest_bench,
    uneven_keys,
)
from tests.emulator.bench_latency import worst_latencies_us
from tests.emulator.bench_plain import plain_scans
from tests.emulator.bench_scans import (
    EIGHT_REGISTERS,
    TWENTY_REGISTERS,
    bouncing_scans,
    one_in_each,
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
    assert 16 <= quiet_byte_cycles(Bench(8_000_000, keys=uneven_keys(EVEN))) < 32


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
    for each in (bench.FASTEST, bench.ONE_GROUP, bench.COUNTED, Bench(8_000_000, keys=uneven_keys(EVEN))):
        plan = bench_plan(each)
        assert (plan.layout.registers, len(plan.layout.addresses), plan.errors) == (40, 320, ())
    assert {group.debounce.hold * group.period_us for group in bench_plan(bench.FASTEST).groups if group.debounce} == {
        FIRST_EDGE["hold_ms"] * 1000
    }


def test_smaller_chains_are_filled_evenly() -> None:
    """Five manuals fill any number of registers; twenty contacts stand in twenty of them, the last one among them."""
    assert even_keys(40) == EVEN
    assert even_keys(27) == (48, 48, 40, 40, 40)
    assert uneven_keys(EVEN) == (80, 64, 64, 64, 48)
    for registers in (20, 27, 39):
        assert sum(even_keys(registers)) == 8 * registers
        places = [register for register, _ in one_in_each(registers)]
        assert len(set(places)) == 20
        assert (min(places) >= 0, max(places)) == (True, registers - 1)


def test_the_small_board_is_measured_with_as_much_as_it_takes() -> None:
    """One register more and its plan says that something does not fit; the ATmega2560 takes all forty."""
    most = largest_bench(Bench(8_000_000, board="atmega32u4", usb=True))
    assert bench_plan(most).errors == ()
    assert 20 <= most.registers < 40
    assert bench_plan(Bench(8_000_000, keys=even_keys(most.registers + 1), board="atmega32u4", usb=True)).errors
    assert largest_bench(bench.FASTEST) == bench.FASTEST


@pytest.mark.emulator
@pytest.mark.parametrize(("usb", "outlet"), [(True, "packet"), (False, "byte")])
def test_the_small_board_has_every_figure(usb: bool, outlet: str) -> None:
    """Scans in both units, a register, presses and memory; all above what the wire takes, more to do taking longer."""
    small = Bench(8_000_000, keys=even_keys(20), board="atmega32u4", usb=usb)
    found = list(board_sections(BoardBench(small, 16_000_000, bouncing=1, at_once=1, presses=1)))
    scans, cycles_, byte, presses, memory = (section.figures for section in found)
    assert outlet in found[3].heading
    assert [each.measured * 16 for each in scans] == pytest.approx([each.measured for each in cycles_])
    quiet, bouncing, usual, everything = (each.measured for each in scans)
    assert small.wire_us < quiet < usual < bouncing < everything
    assert 16 < byte[0].measured < 32
    assert [each.measured > 0 for each in presses] == [True, True]
    assert [each.what for each in memory] == ["RAM", "flash"]
    assert memory[0].measured < 2560


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


def test_figures_without_goals_are_not_judged() -> None:
    """Where no figure has a goal, no count of goals is given."""
    lines = table([Section("memory", (Figure("RAM", 2100, "bytes"),))]).splitlines()
    assert lines[-1] == "no goals are set for these"


def test_a_missed_goal_is_no_failure(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The table goes to stdout, what is under way to stderr, and the exit code is 0."""
    monkeypatch.setitem(bench.BOARDS, "rp2040", lambda: iter([Section("memory", (MISSED,))]))
    assert bench.main(["--board", "rp2040"]) == 0
    out, err = capsys.readouterr()
    assert "missed by 52 bytes" in out
    assert err == "measured: memory\n"


def test_a_build_that_fails_ends_the_bench(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The compiler's words go to stderr, nothing to stdout, and the exit code is 1."""

    def refused() -> Iterator[Section]:
        raise BuildError("avr-gcc stopped with 1")

    monkeypatch.setitem(bench.BOARDS, "atmega2560", refused)
    assert bench.main([]) == 1
    assert capsys.readouterr() == ("", "bench: avr-gcc stopped with 1\n")


@pytest.mark.emulator
def test_the_scheme_to_compare_with_debounces() -> None:
    """A stroke of 20 contacts changes the length of 12 scans: of each edge's own, and of 5 while the timers run."""
    rest, struck = plain_scans(), plain_scans(TWENTY_REGISTERS)
    assert min(rest) == max(rest)
    assert len([scan for scan in struck if scan != rest[0]]) == 2 * (1 + 5)

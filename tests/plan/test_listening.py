"""What a plan makes of a keyboard that the organ scans: readings, guarantees, and figures that stop it."""

from __future__ import annotations

from pathlib import Path

import pytest

from retrofit.papers.connections import connections_csv
from retrofit.papers.wiring_schedule import wiring_schedule_csv
from retrofit.plan.ledger import ledger
from retrofit.plan.model import ConversionPlan
from tests.plan.jobs import plan_of

TEXT = (Path(__file__).with_name("awkward") / "scanned_keyboard.toml").read_text(encoding="utf-8")
STROBE_FIELDS = {
    'strobes = 8\n': "how many strobes",
    'returns = 8\n': "how many returns",
    'neighbours_share = "strobe"\n': "share a strobe or a return",
    'active = "high"\n': "active high or low",
    'rest = "0,1 V"\n': "volts of a strobe",
    'active_volts = "12,0 V"\n': "volts of a strobe",
    'keyed = "11,4 V"\n': "volts of a return",
    'source = "1k"\n': "resistance of a return",
    'period = "1,6 ms"\n': "to its next",
    'width = "180 us"\n': "how long a strobe is active",
    'lead = "0,2"\n': "length of our lead",
}  # fmt: skip


def without(line: str) -> str:
    """Return the job with one reading of the scanner left out."""
    assert TEXT.count(line) == 1
    return TEXT.replace(line, "")


def said(plan: ConversionPlan, rule: str) -> list[str]:
    """Return what a rule says of a plan."""
    return [finding.message for finding in plan.findings if finding.rule == rule]


@pytest.mark.parametrize(("line", "words"), STROBE_FIELDS.items())
def test_each_reading_that_is_missing_is_named_and_stops_the_build(line: str, words: str) -> None:
    """Nothing of the organ's scanner is guessed: the finding names the reading, and no key gets an address."""
    plan = plan_of(without(line))
    (found,) = said(plan, "strobe-reading-missing")
    assert words in found
    assert all(point.address is None for point in plan.points)
    assert plan.errors


def test_a_press_waits_for_a_whole_round() -> None:
    """1.6 ms and 3 % for the oscilloscope, then two samples, the scan and three bytes of 320 µs at least."""
    (group,) = plan_of(TEXT).groups
    round_us = 1.03 * 1600
    assert group.press_latency_us_max > round_us + 2 * group.period_us + 960
    assert group.circuit_press_us == 0, "the round is counted once"


def test_a_break_may_look_a_round_longer() -> None:
    """What is kept is up to a round old: the promises lose it, and the debounce covers bounce and round."""
    (group,) = plan_of(TEXT).groups
    assert group.debounce is not None
    assert (group.debounce.release - 1) * group.period_us >= 1.5 * 2000 + 1.03 * 1600
    assert any("because a sample may be so old" in reason for reason in group.reasons)


def test_a_strobe_that_is_too_short_is_refused_with_the_figures() -> None:
    """20 µs are over before our input has settled and the interrupt has come."""
    (found,) = said(plan_of(TEXT.replace('"180 us"', '"20 us"')), "strobe-too-short")
    assert "strobe 19.4 µs, waiting" in found


@pytest.mark.parametrize("interface", ["chain", "matrix", "pins"])
def test_no_second_scanner_is_laid_across_the_first(interface: str) -> None:
    """A keyboard whose strobes were read is not read in any other way."""
    text = TEXT.replace('interface = "listen"', f'interface = "{interface}"')
    assert len(said(plan_of(text), "second-scanner")) == 1


def test_a_board_without_strobe_ports_is_said_once_with_the_board_that_has_them() -> None:
    """61 keys that cannot listen are one finding, which names the board of the job and one that can."""
    plan = plan_of(f'{TEXT}\n[wanted]\nboard = "atmega32u4"\n')
    found = [finding for finding in plan.findings if finding.rule == "no-address-left"]
    assert [finding.subject for finding in found] == ["groups.great"]
    assert "atmega32u4 has no port for its strobes" in found[0].message
    assert "each pin raises an interrupt: atmega2560" in found[0].message
    assert "second board" not in found[0].message


def test_only_strobes_and_returns_are_tapped() -> None:
    """Sixteen taps with the levels that an oscilloscope showed, and a cable of sixteen wires."""
    steps = ledger(plan_of(TEXT).job)
    taps = [step for step in steps if step.id.startswith("tap-line.")]
    assert [step.id for step in taps][::8] == ["tap-line.great.strobe-0", "tap-line.great.return-0"]
    assert len(taps) == 16
    assert taps[0].proof.words.startswith("rest 0,1 V, active 12,0 V")
    assert next(step for step in steps if step.id == "run-cable.great").what.endswith("(lines: 16)")


def test_the_papers_name_strobe_and_return() -> None:
    """Connections have a row for each of the sixteen lines; the schedule says where each key is found."""
    plan = plan_of(TEXT)
    rows = connections_csv(plan).splitlines()
    assert sum("of the organ's scanner" in row for row in rows) == 16
    assert "16 x resistor 150 kΩ" in connections_csv(plan)
    (key,) = [row for row in wiring_schedule_csv(plan).splitlines() if ",great.47," in row]
    assert '"strobe 1, return 3"' in key
    assert '"strobe pin A9, return pin 46"' in key

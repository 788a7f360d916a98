"""Six invented consoles on which an ordinary tap goes wrong: what the tool says of each, and the time it takes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.sense.design import SenseDesign, Verdict
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan, Severity
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.load import parse_job
from retrofit.survey.wishes import DebounceFamily
from tests.plan.jobs import OURS

CONSOLES = Path(__file__).with_name("awkward")
NAMES = (
    "audio_contacts",
    "biased_gate",
    "decay_tapped",
    "positive_ground",
    "scanned_keyboard",
    "unfiltered_rectifier",
)


def _text(name: str) -> str:
    return (CONSOLES / f"{name}.toml").read_text(encoding="utf-8")


def _plan(name: str, wish: str = "") -> ConversionPlan:
    return plan_conversion(parse_job(_text(name) + wish, name), load_catalogue())


def _sensed(plan: ConversionPlan) -> GroupSensing:
    assert [sensed.group for sensed in plan.sensing] == ["great"]
    return plan.sensing[0]


def _chosen(plan: ConversionPlan) -> SenseDesign:
    chosen = _sensed(plan).chosen
    assert chosen is not None
    return chosen


def _errors(plan: ConversionPlan) -> list[str]:
    return [finding.rule for finding in plan.findings if finding.severity is Severity.ERROR]


def _by_circuit(plan: ConversionPlan) -> Mapping[str, SenseDesign]:
    sensed = _sensed(plan)
    return {design.circuit: design for design in (*sensed.ranked, *sensed.refused)}


def test_all_six_are_marked_invented() -> None:
    """Every console of this folder is tested here and says that it is invented."""
    assert sorted(path.stem for path in CONSOLES.glob("*.toml")) == sorted(NAMES)
    assert all(_text(name).startswith("# INVENTED") and "\ninvented = true\n" in _text(name) for name in NAMES)


def test_a_scanned_keyboard_is_listened_to() -> None:
    """Its strobes and returns are looked at with inputs that take microamperes, and every figure is known.

    Common practice, no source: never a second scanner beside the first.
    """
    plan = _plan("scanned_keyboard")
    chosen = _chosen(plan)
    assert chosen.circuit == "synchronous listening to strobes that are there"
    assert chosen.verdict is Verdict.GOOD
    assert chosen.keyed_reads_high is True
    assert _errors(plan) == []
    assert str(plan.points[0].address) == "strobe 0, return 0"
    (group,) = plan.groups
    assert group.press_latency_us_max > 1600, "a whole round of the organ's scanner may pass first"


def test_positive_ground_is_compared_with_a_threshold_below_the_return() -> None:
    """On lines that are keyed to -18 V a plain divider is refused and an optocoupler draws too much.

    Common practice, no source: offset divider or comparator on negative lines, never a clamp straight to logic.
    """
    plan = _plan("positive_ground")
    chosen = _chosen(plan)
    assert chosen.circuit == "comparator with its threshold between the states"
    assert chosen.verdict is Verdict.GOOD
    assert chosen.keyed_reads_high is True
    assert plan.layout.lanes[0].invert & 1 == 0
    assert _by_circuit(plan)["high-impedance divider"].refusals
    assert _by_circuit(plan)["optocoupler with threshold"].verdict is Verdict.FAILS
    assert _errors(plan) == []
    assert plan.power is not None
    assert plan.power.bleeder is None


def test_a_biased_gate_keeps_its_bias() -> None:
    """A gate at -15 V behind 22 kΩ is looked at through so much resistance that its bias moves by less than 5 %.

    Ohm's law on what the line feels: at most 5 % of the least bias across the greatest source resistance.
    """
    plan = _plan("biased_gate")
    chosen = _chosen(plan)
    assert chosen.circuit == "comparator with its threshold between the states"
    assert chosen.verdict is Verdict.GOOD
    felt_ua = chosen.felt.idle_ua
    assert felt_ua is not None
    assert abs(felt_ua) * 1e-6 * 22e3 * 1.01 <= 0.05 * 14.65
    assert _by_circuit(plan)["high-impedance divider"].refusals
    assert _errors(plan) == []


def test_a_tap_behind_the_decay_capacitor_is_late_and_says_so() -> None:
    """The divider is light enough for the decay, and the note-off is late by more than half a second.

    12 V that fall to 3 V through 100 kΩ and 4.7 µF take 652 ms (τ·ln 4); the tool's worst case may not be less.
    """
    plan = _plan("decay_tapped")
    chosen = _chosen(plan)
    assert chosen.circuit == "high-impedance divider"
    assert chosen.verdict is Verdict.NARROW
    assert 652e3 < chosen.release_delay_us < 2.5 * 652e3
    late = [finding for finding in plan.findings if finding.rule == "late-note-off"]
    assert [f"{chosen.release_delay_us / 1e3:.0f} ms" in finding.found for finding in late] == [True]
    assert _errors(plan) == []


def test_an_unfiltered_rectifier_is_bridged_by_debounce() -> None:
    """The release waits for more samples than the longest gap spoils; circuits without bridging are refused."""
    plan = _plan("unfiltered_rectifier")
    chosen, group = _chosen(plan), plan.groups[0]
    assert chosen.circuit == "high-impedance divider, half-wave gaps bridged"
    assert chosen.verdict is Verdict.NARROW
    assert 0 < chosen.gap_us < 10_000
    assert group.debounce is not None
    assert group.debounce.family is DebounceFamily.ASYMMETRIC
    assert (group.debounce.release - 1) * group.period_us > chosen.gap_us
    assert group.press_latency_us_max > chosen.gap_us
    comparator = _by_circuit(plan)["comparator with its threshold between the states"]
    assert any("half waves" in reason for reason in comparator.refusals)
    assert _errors(plan) == []


def test_audio_contacts_are_left_alone() -> None:
    """Every circuit on the wire is refused with the reason; only a sensor that touches nothing is left, when asked."""
    plan = _plan("audio_contacts")
    sensed = _sensed(plan)
    assert sensed.chosen is None
    assert sensed.verdict is Verdict.FAILS
    assert [design.circuit for design in sensed.ranked] == ["added sensor that touches nothing"]
    assert all("sound" in design.refusals[0] for design in sensed.refused)
    assert _errors(plan) == ["no-circuit-permitted"]
    asked = _plan("audio_contacts", '\n[groups.wanted]\nsense = "sensor"\n')
    assert _chosen(asked).circuit == "added sensor that touches nothing"
    assert _errors(asked) == []


@pytest.mark.parametrize("wish", ["divider", "optocoupler", "comparator", "offset-divider", "spike-rated"])
def test_no_wish_gets_at_audio_contacts(wish: str) -> None:
    """A wish for a circuit on the wire is an error that cannot be waived."""
    assert "audio-contact-sensed" in _errors(_plan("audio_contacts", f'\n[groups.wanted]\nsense = "{wish}"\n'))


@pytest.mark.parametrize("name", NAMES)
def test_time_to_plan_an_awkward_console(name: str, benchmark: BenchmarkFixture) -> None:
    """The time is printed by the benchmark, not judged here; what is judged is that it plans the same each time."""
    job, catalogue = parse_job(_text(name), name), load_catalogue()
    plan = benchmark(plan_conversion, job, catalogue)
    assert plan == plan_conversion(job, catalogue)


LINES = (("-18,2 V", "6k8"), ("-17,9 V", "4k7"), ("-18,1 V", "10k"), ("-17,6 V", "3k3"), ("-18,0 V", "15k"))


def test_time_to_plan_six_hundred_points_on_five_kinds_of_line(benchmark: BenchmarkFixture) -> None:
    """Five manuals, each on another kind of the organ's lines, and a rail: the benchmark prints the time."""
    head, group = _text("positive_ground").split("[[groups]]")
    text = head + "".join(f'[[divisions]]\nid = "d{number}"\n' for number in range(len(LINES)))
    for number, (volts, source) in enumerate(LINES):
        told = group.replace('id = "great"', f'id = "m{number}"', 1).replace('n = "great"', f'n = "d{number}"', 1)
        told = told.replace('"6k8"', f'"{source}"').replace(
            'keyed = { volts = "-18,2 V"', f'keyed = {{ volts = "{volts}"'
        )
        text += f"[[groups]]{told}\n"
    rail = "".join(f'{{ id = "s{number}" }}, ' for number in range(295))
    text += f'[[groups]]\nid = "rail"\nkind = "stops"\ndivision = "great"\npoints = [{rail}]\n{OURS}'
    plan = benchmark(plan_conversion, parse_job(text, "five"), load_catalogue())
    assert len(plan.points) == 600
    assert len({sensed.line for sensed in plan.sensing}) == 1 + len(LINES)
    assert plan.errors == ()

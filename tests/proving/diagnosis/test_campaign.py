"""Seeded cases of the fault campaign: injector and diagnosis share no code."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from random import Random

import pytest

from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.rehearsal.standin.faults.grammar import parse_fault
from tests.proving.diagnosis.campaign import Case, main, random_case, run_case
from tests.proving.diagnosis.classes import classes, every_fault, small
from tests.proving.diagnosis.consoles import Console, console, keys, random_console
from tests.proving.diagnosis.injected import names_of, translated
from tests.proving.diagnosis.person import CAREFUL, Habits

POOL = (0, 1, 2, 4, 5, 9, 10, 29)


@cache
def pool() -> tuple[Console, ...]:
    """Return a few random consoles, to be used again: to plan one takes longer than to prove it."""
    return tuple(random_console(Random(f"pool-{n}")) for n in POOL)


def cases(name: str, fault_count: int, count: int) -> list[Case]:
    """Return seeded cases, spread over the consoles."""
    consoles = pool()
    return [random_case(f"{name}-{n}", fault_count, consoles[n % len(consoles)]) for n in range(count)]


def wrong_of(found: Iterable[Case]) -> list[tuple[str, str, str]]:
    """Return what was wrongly answered: console, injected, named."""
    return [(case.console.words, case.injected, case.answered) for case in found if not case.right]


def test_the_consoles_are_read_in_every_way() -> None:
    """Chains, matrices of both drives, pins, multiplexers and expanders are among the consoles of the campaign here."""
    ways = {console.words.replace(",", " ").split()[0] for console in pool()}
    assert ways == {"chain", "matrix", "pins", "multiplexer", "expander"}
    assert any("push-pull" in console.words for console in pool())


def test_a_healthy_console_is_never_accused() -> None:
    """Slow and clumsy players, worn contacts and unused addresses on sound consoles of all kinds: no cause."""
    assert [case.causes for case in cases("sound", 0, 40) if case.causes] == []


def test_one_fault_is_named() -> None:
    """Every single fault is named, or one of the class that no test tells from it."""
    assert wrong_of(cases("one", 1, 40)) == []


def test_two_faults_are_named() -> None:
    """Of two faults at once all but one case in twenty are named."""
    wrong = wrong_of(cases("two", 2, 20))
    assert len(wrong) <= 1, wrong


def test_a_wrong_answer_counts_as_wrong() -> None:
    """A person who leaves out every second key and never answers gives no ground for naming a dead contact."""
    found = console("chain", keys("great", 36, 24, "chain"))
    dead = parse_fault("dead contact great.40", names_of(found))
    deaf = run_case(found, (dead,), Random(1), Habits(missed=0.5, asked_missed=0.0))
    unheard = run_case(found, (dead,), Random(1), Habits(missed=1.0, asked_missed=1.0))
    assert deaf.right
    assert not unheard.right


def test_the_same_seed_gives_the_same_case() -> None:
    """Cases are drawn from their seed alone."""
    first, again = random_case("same", 1), random_case("same", 1)
    assert (first.console.words, first.injected, first.causes) == (again.console.words, again.injected, again.causes)


def test_a_cause_that_is_no_fault_of_the_wiring_is_no_answer() -> None:
    """A cause that cannot be done to the console is not counted as right."""
    found = console("chain", keys("great", 36, 24, "chain"))
    assert translated(found, [Cause(Kind.EXPANDER_DEAD, ("expander 7",))]) is None


PAIRS = (
    ("chain", ("cut return great", "couple great to swell")),
    ("chain", ("bent contact great.50 and great.51", "dead contact great.50")),
    ("chain", ("turn connector J3", "shift connector J3 down")),
    ("chain", ("extra clock at register 1", "lost clock at register 3")),
    ("chain", ("lost clock at register 2", "shift wires great from great.40 up")),
    ("chain", ("transpose great 12", "shift wires great from great.37 down")),
    ("chain", ("transpose great -12", "swap connectors J1 and J2")),
    ("chain", ("set channel great 3", "reverse polarity great")),
    ("chain", ("turn connector J3", "ground wire great.60")),
    ("matrix", ("shift connector J1 up", "shift connector J2 down")),
    ("matrix", ("turn connector J1", "short diode great.50")),
    ("matrix", ("reverse polarity great", "short diode great.50")),
    ("matrix", ("join J1.3 and J1.4", "dead contact great.37")),
    ("push-pull", ("short diode great.50", "reverse polarity great")),
)
"""Faults that hide each other: neither alone brings what is heard any nearer, or one covers the other up."""


@cache
def two_manuals(interface: str) -> Console:
    """Return a first manual of 40 keys, and a second one that it may be coupled to."""
    if interface == "chain":
        first = keys("great", 36, 40, "chain")
    else:
        drive = ', matrix_drive = "push-pull"' if interface == "push-pull" else ""
        first = keys("great", 36, 40, "matrix", "silicon", f", matrix_columns = 8{drive}")
    return console(interface, first + keys("swell", 36, 49, "chain"))


@pytest.mark.parametrize(("interface", "words"), PAIRS)
def test_faults_that_hide_each_other_are_named(interface: str, words: tuple[str, str]) -> None:
    """Two faults of which one covers up what would show the other are both named."""
    found = two_manuals(interface)
    case = run_case(found, [parse_fault(one, names_of(found)) for one in words], Random(4), CAREFUL)
    assert case.right, case.answered
    assert case.settled


@pytest.mark.parametrize("interface", ["chain", "matrix"])
def test_every_fault_of_a_small_console_is_named_by_its_class(interface: str) -> None:
    """With a careful person each fault of nine keys is named, or one that no test tells from it."""
    found = small(interface)
    wrong = []
    for fault in every_fault(found):
        case = run_case(found, (fault,), Random(0), CAREFUL)
        if not case.right:
            wrong.append((fault.words, case.answered))
    assert wrong == []


def test_a_dead_contact_a_cut_wire_and_an_open_diode_are_one_class() -> None:
    """On the chain a dead contact, a cut wire and a dead input are one; in a matrix an open diode and a dead one."""
    chain, matrix = classes(small("chain")), classes(small("matrix"))
    assert ["cut wire great.37", "dead contact great.37", "stuck input great.37 high"] in map(sorted, chain)
    assert ["dead contact great.40", "open diode great.40"] in map(sorted, matrix)


def test_a_fault_that_no_test_shows_is_called_silent() -> None:
    """A wire between inputs that nothing is wired to changes nothing that can be heard, and nothing is named."""
    found = console("chain", keys("great", 36, 13, "chain"))
    unused = parse_fault("join J2.8 and J2.9", names_of(found))
    case = run_case(found, (unused,), Random(2), CAREFUL)
    assert (case.silent, case.causes, case.right) == (True, (), True)


def test_the_campaign_prints_its_seed_and_its_table(capsys: pytest.CaptureFixture[str]) -> None:
    """The command tells the seed with which it can be run again, what was named, and how many were right."""
    assert main(["--cases", "2", "--faults", "0", "--seed", "abc"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "seed abc, 2 cases of 0 faults"
    assert any(line.startswith("right 2 of 2") for line in said)

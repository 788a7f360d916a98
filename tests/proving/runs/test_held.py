"""Contacts that the board reports as held at power-on, and mutes: where they stand in the course of a run."""

from __future__ import annotations

from retrofit.proving.expected import expected_of
from retrofit.proving.runs.notebook import HELD
from retrofit.proving.runs.results import Verdict, result_of
from retrofit.proving.runs.says import Say
from retrofit.proving.runs.steps import ChordTest, StepKind
from tests.proving.plans import small_plan
from tests.proving.runs.players import Timed, expected, keys, made_run, played, press, slow

SECOND = 1_000_000


def report(point: str, at_us: int = 1000) -> Timed:
    """Return the board's report that a contact was on at power-on: its number in two halves of seven bits."""
    index = next(place for place, one in enumerate(expected().contacts) if one.id == point)
    number = next(number for number, found in expected().numbers.items() if found == index)
    return at_us, bytes((0xF0, 0x7D, 0x01, number >> 7, number & 0x7F, 0xF7))


def test_the_board_s_numbers_are_eight_to_a_register() -> None:
    """On a chain, the contact at bit b of register r has the number 8 r + b; points that send nothing have none."""
    addresses = {point.point.id: point.address for point in small_plan().points}
    contacts = expected_of(small_plan()).contacts
    for number, index in expected().numbers.items():
        assert str(addresses[contacts[index].id]) == f"chain register {number // 8} bit {number % 8}"
    assert len(expected().numbers) == len(contacts)


def test_a_contact_held_at_power_on_is_in_the_idle_picture() -> None:
    """Nothing is heard of it, and it stands in evidence and findings, in words of its own."""
    run = made_run("great", (StepKind.IDLE,))
    said = played(run, [report("great.40")])
    assert run.notebook.evidence("great").idle == {"great.40"}
    assert [(f.subject, f.words) for f in run.notebook.findings] == [("great.40", HELD)]
    assert f"{HELD}: great E2 (40)" in said.text
    assert "all is off" not in said.text


def test_a_report_of_another_division_is_no_matter_of_this_one() -> None:
    """The idle picture of the great is clean though a key of the swell is held."""
    run = made_run("great", (StepKind.IDLE,))
    assert "all is off" in played(run, [report("swell.40")]).text


def test_a_key_that_speaks_after_all_was_held_by_hand() -> None:
    """Its finding is withdrawn, and it passes."""
    run = made_run("great", (StepKind.IDLE, StepKind.RUN, StepKind.ASKED))
    played(run, [report("great.40"), *slow(keys(), 10 * SECOND)])
    assert run.notebook.evidence("great").idle == frozenset()
    verdicts = {point.point: point.verdict for point in result_of(run, "great").points}
    assert verdicts["great.40"] is Verdict.PASSED
    assert not result_of(run, "great").failed


def test_a_key_that_stays_muted_fails() -> None:
    """It is asked for in vain, and what the board reported stands beside that."""
    run = made_run("great", (StepKind.IDLE, StepKind.RUN, StepKind.ASKED))
    played(run, [report("great.40"), *slow(keys(40), 10 * SECOND)])
    (failed,) = (point for point in result_of(run, "great").points if point.verdict is Verdict.FAILED)
    assert failed.point == "great.40"
    assert failed.remark.startswith("nothing came though it was asked for")
    assert failed.remark.endswith(HELD)


def test_an_excused_contact_that_is_held_is_evidence_and_no_finding() -> None:
    """Of a contact that is known as dead nothing is expected, not even silence."""
    run = made_run("great", (StepKind.IDLE,))
    played(run, [report("great.38")])
    assert run.notebook.evidence("great").idle == {"great.38"}
    assert not result_of(run, "great").failed


def test_a_held_contact_counts_as_closed_in_a_chord() -> None:
    """The chord is held whole though the board mutes one of its keys, and that key is no ghost of another chord."""
    chords = (ChordTest(("great.40", "great.41")), ChordTest(("great.44", "great.45")))
    run = made_run("great", (StepKind.CHORDS,), chords=chords)
    fingers = {"great: chord 1": (41,), "great: chord 2": (44, 45)}

    def respond(say: Say) -> list[Timed]:
        notes = fingers.get(say.words[: len("great: chord 1")], ())
        return press(0, *notes, held_us=SECOND)

    said = played(run, [report("great.40")], respond)
    assert said.text.count("nothing beside the chord") == 2
    assert [chord.heard for chord in run.notebook.evidence("great").chords] == [
        {"great.40", "great.41"},
        {"great.40", "great.44", "great.45"},
    ]

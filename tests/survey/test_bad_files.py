"""One file per fault: its message names the file, the line, the subject, what was found and what is allowed."""

from __future__ import annotations

from pathlib import Path

import pytest

from retrofit.survey.contacts import ContactGroup
from retrofit.survey.contacts_csv import load_contacts
from retrofit.survey.load import load_job
from retrofit.survey.problems import JobFileError, Problem, ProblemKind
from tests.survey.places import BAD, GOOD

BAD_FILES = [
    # file, kind, line, words that the message must hold
    ("as-found-changed.toml", "as-found-changed", 7, ["as_found.locked", "'QT' on 2026-03-07", "later date", "backup"]),
    ("bad-id.toml", "not-understood", 10, ["groups.Great Manual.id", "lower-case letters"]),
    ("beyond-contacts.toml", "beyond-contacts", 17, ["groups.great.wiring.commons.#1.last", "62", "1 to 61"]),
    ("contact-division.toml", "unknown-division", 16, ["contacts.second.division", "'gerat'", "did you mean 'great'?"]),
    ("contact-range-backwards.toml", "range-backwards", 14, ["groups.great.contacts.first.lowest", "60", "40"]),
    ("contradiction.toml", "contradiction", 14, ["groups.great.points.#1.message", "note and controller", "keep one"]),
    ("deep.toml", "syntax", None, ["nested"]),
    (
        "diode-key-unknown.toml",
        "no-such-key",
        24,
        ["diode_readings.#2.key", "key 97", "notes 36 to 96", "correct the key"],
    ),
    ("diode-on-one-pin.toml", "contradiction", 15, ["diode_readings.#1", "both '9 '", "two pins", "pin of each lead"]),
    ("diode-volts-negative.toml", "out-of-range", 19, ["diode_readings.#1.volts", "'-0,56 V'", "0 V or more", "OL"]),
    ("duplicate-column.csv", "duplicate-column", 1, ["row 1", "'name' twice"]),
    ("duplicate-contact.toml", "duplicate-id", 14, ["groups.great.contacts.first", "second time"]),
    ("duplicate-id.csv", "duplicate-id", 3, ["row 3, column id", "vox again", "row 2"]),
    ("duplicate-id.toml", "duplicate-id", 15, ["groups.great", "'great' for the second time"]),
    ("duplicate-key-point.toml", "duplicate-id", 16, ["groups.great.points.#2", "36 key", "second time"]),
    ("extra-note-inside.toml", "extra-note-inside", 13, ["groups.great.compass.extra.#1", "note 60", "36 to 96"]),
    ("long-number.toml", "syntax", None, ["thousands of digits"]),
    ("key-without-contact.toml", "no-such-key", 17, ["points.#2.note", "note 59", "'second'"]),
    ("line-said-twice.toml", "line-said-twice", 19, ["same_lines.#2.points.#1", "'great.37' again", "one entry"]),
    ("missing-beside-order.toml", "order-disagrees", 13, ["compass.order", "missing or extra", "say it all in order"]),
    ("missing-column.csv", "missing-column", 1, ["row 1", "no column 'id'"]),
    ("missing-key.csv", "missing-key", 3, ["row 3, column id", "nothing"]),
    ("missing-key.toml", "missing-key", 9, ["groups.great.division", "nothing", "add 'division = …'"]),
    ("missing-note-outside.toml", "missing-note-outside", 13, ["compass.missing.#1", "note 97", "36 to 96"]),
    ("name-taken.toml", "name-taken", 16, ["operations.great.id", "'great'", "a division's", "choose another id"]),
    ("negative-ac.toml", "out-of-range", 16, ["groups.great.wiring.idle.ac_volts", "'-0,3 V'", "0 V or more"]),
    ("negative-fuse.toml", "out-of-range", 11, ["supplies.main.fuse", "'-2 A'", "0 A or more"]),
    ("no-division.toml", "missing-key", None, ["divisions", "nothing", "add [[divisions]]"]),
    ("no-format.toml", "no-format", None, ["format", "begin the file with 'format = 1'"]),
    ("no-groups.toml", "missing-key", None, ["groups", "nothing", "add [[groups]]"]),
    ("no-kind.toml", "missing-key", 9, ["groups.great.kind", "manual, pedalboard, stops", "add 'kind = …'"]),
    ("no-rows.csv", "wrong-length", None, ["points", "0 members", "at least 1 member"]),
    ("no-such-contact.toml", "no-such-contact", 15, ["points.#1.contact", "'secnod'", "did you mean 'second'?"]),
    ("no-such-key.toml", "no-such-key", 14, ["groups.great.points.#1.note", "note 97", "compass"]),
    ("not-understood.toml", "not-understood", 16, ["groups.great.wiring.idle.volts", "'twelve'", "4k7", "unknown"]),
    ("not-utf16.csv", "not-utf8", None, ["UTF-16", "UTF-8"]),
    ("not-utf8.csv", "not-utf8", 2, ["0xF6", "save it again", "UTF-8"]),
    ("not-utf8.toml", "not-utf8", 9, ["0xF6", "save it again", "UTF-8"]),
    ("nul-character.csv", "nul-character", 2, ["NUL"]),
    ("nul-character.toml", "nul-character", 14, ["NUL"]),
    ("nul-in-name.toml", "nul-character", 4, ["instrument.name", r"bad \x00", "any characters but NUL"]),
    ("order-disagrees.toml", "order-disagrees", 13, ["groups.great.compass.order", "2 contacts", "count = 61"]),
    ("order-repeats-note.toml", "order-repeats-note", 13, ["compass.order", "note 36 2 times", "-1"]),
    ("out-of-range.toml", "out-of-range", 13, ["groups.great.compass.count", "3000", "at most 128"]),
    ("polarity-disagrees.toml", "polarity-disagrees", 12, ["supplies.main.volts_full", "-12", "positive"]),
    ("range-backwards.toml", "range-backwards", 17, ["commons.#1.first", "first 30 after last 20"]),
    ("row-too-long.csv", "row-too-long", 2, ["row 2", "4 cells", "3, as in the heading"]),
    ("stages-without-steps.toml", "contradiction", 13, ["groups.shoes.points.swell", "'ldr' with stages"]),
    ("stale-address.toml", "stale-address", 17, ["addresses.great.35", "no point", "delete the line"]),
    ("stale-message.toml", "stale-message", 21, ["a message of 'stops.stop-3'", "rename the line to stops.stop-three"]),
    ("syntax.csv", "syntax", 2, ["row 2", "quotes"]),
    ("syntax.toml", "syntax", 10, ["TOML", "column 6"]),
    ("thousands.toml", "not-understood", 16, ["contact_resistance", "'1,000'", "1234", "1.234"]),
    ("unknown-column.csv", "unknown-column", 1, ["row 1", "'fotage'", "did you mean 'footage'?"]),
    ("unknown-division.toml", "unknown-division", 12, ["groups.great.division", "'graet'", "did you mean 'great'?"]),
    ("unknown-key.toml", "unknown-key", 14, ["groups.great.divisoin", "compass", "did you mean 'division'?"]),
    ("unknown-kind.toml", "unknown-kind", 11, ["groups.great.kind", "'manul'", "toe-studs", "did you mean 'manual'?"]),
    ("unknown-line.toml", "unknown-line", 23, ["wiring.readings.#2.line", "'great.97'", "did you mean 'great.96'?"]),
    ("unknown-point.toml", "unknown-point", 16, ["same_lines.#1.points.#2", "'great.97'", "did you mean 'great.96'?"]),
    ("unknown-subject.toml", "unknown-subject", 18, ["rail-off.subject", "'graet'", "did you mean 'great'?"]),
    ("unknown-supply.toml", "unknown-supply", 20, ["commons.#1.supply", "'keyin'", "did you mean 'keying'?"]),
    ("unknown-word.csv", "unknown-word", 4, ["row 3, column rest", "'closd'", "did you mean 'closed'?"]),
    (
        "unknown-word.toml",
        "unknown-word",
        16,
        ["great.wiring.owner", "'organn'", "organ, us, unknown", "mean 'organ'?"],
    ),
    ("wrong-format.toml", "wrong-format", 1, ["format 2", "format 1", "newer version"]),
    ("wrong-length.toml", "wrong-length", 4, ["instrument.name", "0 characters", "at least 1 character"]),
    ("wrong-type.toml", "wrong-type", 13, ["groups.great.compass.count", "'many'", "a whole number"]),
]

WITHOUT_BAD_FILE = {
    # these are about the file itself, and test_load.py makes them fire
    ProblemKind.NO_FILE,
    ProblemKind.NOT_A_FILE,
    ProblemKind.UNREADABLE,
    ProblemKind.TOO_LARGE,
}


def load(path: Path) -> object:
    """Load a job file, or a contact list for the tabs of the good job."""
    if path.suffix == ".toml":
        return load_job(path)
    tabs = load_job(GOOD).groups[1]
    assert isinstance(tabs, ContactGroup)
    return load_contacts(path, tabs)


def problems_of(path: Path) -> tuple[Problem, ...]:
    """Return every problem of a bad file."""
    with pytest.raises(JobFileError) as caught:
        load(path)
    return caught.value.problems


@pytest.mark.parametrize(("name", "kind", "line", "words"), BAD_FILES, ids=[row[0] for row in BAD_FILES])
def test_a_bad_file_gives_one_message_with_its_place_and_words(
    name: str, kind: str, line: int | None, words: list[str]
) -> None:
    """Each file has exactly its one problem, with file name, line, and all the words that help."""
    (problem,) = problems_of(BAD / name)

    assert problem.kind == kind
    assert problem.line == line
    message = str(problem)
    assert message.startswith(str(BAD / name) + ("" if line is None else f":{line}"))
    assert [word for word in words if word not in message] == []


def test_every_bad_file_has_its_row() -> None:
    """No file lies in the folder without a test."""
    rows = {row[0] for row in BAD_FILES} | {"five-faults.toml"}

    assert {path.name for path in BAD.iterdir()} == rows


def test_every_kind_of_problem_has_a_bad_file_named_after_it() -> None:
    """A new kind of problem cannot be added without a file that makes it fire."""
    named = {ProblemKind(kind) for name, kind, _, _ in BAD_FILES if Path(name).stem == kind}

    assert named == set(ProblemKind) - WITHOUT_BAD_FILE


def test_five_faults_give_five_problems_in_the_order_of_the_file() -> None:
    """A misspelt key, a figure, a word, a reference and an id are all told in one run."""
    problems = problems_of(BAD / "five-faults.toml")

    assert [(p.line, p.kind.value) for p in problems] == [
        (5, "unknown-key"),
        (14, "out-of-range"),
        (17, "unknown-word"),
        (22, "unknown-division"),
        (27, "duplicate-id"),
    ]


def test_the_exception_says_every_problem_on_a_line_of_its_own() -> None:
    """The exception's own text holds one line per problem."""
    with pytest.raises(JobFileError) as caught:
        load_job(BAD / "five-faults.toml")

    assert str(caught.value).splitlines() == [str(problem) for problem in caught.value.problems]

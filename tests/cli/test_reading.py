"""`retrofit reading`: readings written down, answered, locked; and everything that can go wrong with one."""

from __future__ import annotations

from pathlib import Path

import pytest

from retrofit.survey.load import load_job
from tests.cli.conftest import Command, on_a_terminal

BENCH = ("--initials", "QT", "--date", "2026-03-07")
ONCE = ("series=0,4", "leaves=1", "fall_time=4 ms", "bus_to_supply=0,3", "line_to_return=4k7")


def take(retrofit: Command, file: Path, state: str, volts: str, ac: str = "1 mV", line: str = "great.36") -> str:
    """Take one reading, which must be written, and return the answer."""
    ended = retrofit("reading", file, "great", "--line", line, "--state", state, "--volts", volts, "--ac", ac, *BENCH)
    assert ended.code == 0, ended.err
    return ended.out


def test_readings_lead_to_a_class_one_by_one(retrofit: Command, theatre: Path) -> None:
    """After each reading the answer says what is still possible and what to read next, until the class is sure."""
    first = take(retrofit, theatre, "idle", "12 mV")
    assert "not known yet (open)" in first
    assert "next         the line keyed with the meter alone" in first
    assert "next         time from release" in take(retrofit, theatre, "keyed", "12,21 V")
    take(retrofit, theatre, "keyed", "12,2 V", line="great.60")
    once = [word for pair in ONCE for word in ("--once", pair)]
    ended = retrofit("reading", theatre, "great", "--line", "great.36", *once)

    assert ended.code == 0
    assert "class        keyed from a positive bus (sure)" in ended.out
    assert "because" in ended.out
    assert "as found     thumb piston: does it spring back" in ended.out
    assert "next         the line keyed with 1M to return" in ended.out


def test_the_caution_is_talk_and_the_answer_is_data(retrofit: Command, theatre: Path) -> None:
    """Whoever pipes the answer still sees the caution."""
    take(retrofit, theatre, "idle", "12 mV")
    ended = retrofit("reading", theatre, "great")

    assert "one hand only" in ended.err
    assert "black clip" in ended.err
    assert "never ohms" in ended.err
    assert "caution" not in ended.out
    assert ended.out.startswith("line         great.36 of great")


def test_a_group_without_readings_is_told_the_first(retrofit: Command, theatre: Path) -> None:
    """The meter alone, idle and keyed."""
    ended = retrofit("reading", theatre, "great")

    assert ended.code == 0
    assert "next         the line idle with the meter alone, DC and AC volts" in ended.out
    assert "then         the line keyed with the meter alone, DC and AC volts" in ended.out


def test_impossible_readings_are_named_and_kept(retrofit: Command, theatre: Path) -> None:
    """Millivolts for volts stand in the file as typed, and the answer says what is suspicious."""
    take(retrofit, theatre, "idle", "0,0 V")
    answer = take(retrofit, theatre, "keyed", "12,2 mV")

    assert "impossible   thousandfold" in answer
    assert "contradicted" in answer
    assert "next         read again what is impossible" in answer
    group = next(group for group in load_job(theatre).groups if group.id == "great")
    assert [reading.volts.raw for reading in group.wiring.readings] == ["0,0 V", "12,2 mV"]


def test_a_locked_record_refuses_its_own_days(retrofit: Command, theatre: Path) -> None:
    """After the lock a reading of that day is refused, one of a later day is taken, and a second lock is not."""
    take(retrofit, theatre, "idle", "12 mV")
    locked = retrofit("reading", theatre, "--lock", *BENCH)
    before = theatre.read_bytes()
    again = retrofit("reading", theatre, "--lock", *BENCH)
    same_day = ("--line", "great.36", "--state", "keyed", "--volts", "12,2 V", "--initials", "QT", "--date")
    refused = retrofit("reading", theatre, "great", *same_day, "2026-03-07")

    assert (locked.code, again.code, refused.code) == (0, 2, 1)
    assert "as-found record, digest" in locked.out
    assert "locked already" in again.err
    assert "as_found.locked" in refused.err
    assert refused.err.endswith("nothing written\n")
    assert theatre.read_bytes() == before
    assert retrofit("reading", theatre, "great", *same_day, "2026-03-08").code == 0


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["gret"], 2, "did you mean 'great'?"),
        (["great", "--volts", "3 V"], 2, "--line is needed for a reading; nothing written"),
        (["great", "--line", "T", "--volts", "3 V", "--initials", "QT"], 2, "--state is needed"),
        (["great", "--line", "T", "--state", "idle", "--volts", "3 V"], 2, "--initials is needed"),
        (["great", "--once", "series"], 2, "has no '='"),
        (["great", "--once", "sereis=3"], 2, "did you mean 'series'?"),
        (["great", "--once", "leaves=many"], 1, "'many'"),
        (["great", "--line", "great.35", "--state", "idle", "--initials", "QT"], 1, "did you mean 'great."),
        (["great", "--line", "T", "--state", "idle", "--volts", "ten", "--initials", "QT"], 1, "12,4 V or 4k7"),
        (
            ["great", "--line", "T", "--state", "idle", "--initials", "QT", "--date", "7.3.26"],
            2,
            "write it as 2026-03-07",
        ),
        (["great", "--state", "off"], 2, "'off' is not one of"),
        (["--lock"], 2, "--initials is needed"),
    ],
)
def test_what_cannot_be_written_is_said_and_changes_nothing(
    retrofit: Command, theatre: Path, arguments: list[str], code: int, words: str
) -> None:
    """A wrong name, a missing half, a wrong word: the message has the remedy and the file stays."""
    before = theatre.read_bytes()
    ended = retrofit("reading", theatre, *arguments)

    assert ended.code == code
    assert words in ended.err
    assert theatre.read_bytes() == before


def test_words_on_a_tag_are_made_safe(retrofit: Command, theatre: Path) -> None:
    """A tag with control characters and quotes is written, and escaped where it is shown."""
    answer = take(retrofit, theatre, "idle", "0,1 V", line='T "7" \x1b[31m')

    assert "\\x1b[31m" in answer
    assert "\x1b" not in answer


def test_readings_are_asked_for_on_a_terminal(theatre: Path) -> None:
    """Line, initials, then reading after reading; unknown is not asked again, a wrong word once more, empty ends."""
    answers = "great.36\nQT\n0,01 V\n1 mV\n12,2 V\n2 mV\nlater\n4 ms\nunknown\n0,3\n\n"

    assert on_a_terminal(answers, "reading", theatre, "great", "--date", "2026-03-07") == 0
    group = next(group for group in load_job(theatre).groups if group.id == "great")
    assert [reading.volts.raw for reading in group.wiring.readings] == ["0,01 V", "12,2 V"]
    assert group.wiring.dead.fall_time.raw == "4 ms"
    assert group.wiring.dead.bus_to_supply.raw == "0,3"


def test_a_line_that_is_like_none_says_so(retrofit: Command, theatre: Path) -> None:
    """Volts in both states that do not sweep belong to no class: the answer sends the reader back to the readings."""
    take(retrofit, theatre, "idle", "5,00 V")
    take(retrofit, theatre, "keyed", "12,2 V")
    take(retrofit, theatre, "keyed", "12,3 V", line="great.60")
    loaded = ("--load", "1M", "--state", "idle", "--volts", "5,00 V", "--line", "great.36", *BENCH)
    ended = retrofit("reading", theatre, "great", *loaded, "--once", "sweeps=no", "--once", "leaves=1")

    assert ended.code == 0, ended.err
    assert "may be       none of the known classes" in ended.out
    assert "next         nothing more" in ended.out

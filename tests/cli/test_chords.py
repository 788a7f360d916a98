"""`retrofit chords`: the bench page, its JSON, and the reasons why a group has no chords."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from retrofit.cli.output import Exit
from tests.cli.conftest import Command, demo, on_a_terminal, written

JobWith = Callable[..., Path]

COMPASS = 'division = "lower"\ncompass = { lowest = 36, count = 61 }'
TWO_CONTACTS = (COMPASS, f'{COMPASS}\ncontacts = [{{ id = "key" }}, {{ id = "second" }}]')


@pytest.fixture
def job_with(tmp_path: Path) -> JobWith:
    """Return the gutted demo with some of its text replaced; each text must be there."""

    def change(*changes: tuple[str, str]) -> Path:
        text = demo("gutted_home.toml")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        return written(tmp_path / "job.toml", text)

    return change


def test_the_page_of_the_demo(retrofit: Command, gutted: Path) -> None:
    """61 keys take eight chords of two hands, each with its ghosts and the diode that they accuse."""
    ended = retrofit("chords", gutted, "lower")
    assert ended.code == Exit.OK
    assert "61 keys on 8 rows and 8 columns; 8 chords find each of 61 diodes" in ended.out
    assert ended.out.count("\n  left ") == ended.out.count("\n  right ") == 8
    assert ended.out.count("accuses the diode of\n") == 8
    assert "[x] ghost of a shorted diode: not sure" in ended.out
    assert "put right first, closed at rest: lower.52" in ended.out
    assert ended.err == "8 chords for 61 of 61 diodes\n"


def test_the_json_of_the_demo(retrofit: Command, gutted: Path) -> None:
    """Every diode is accused by some ghosts, which are keys that nobody holds; same job, same bytes."""
    ended, again = retrofit("chords", gutted, "lower", "--json"), retrofit("chords", gutted, "lower", "--json")
    found = json.loads(ended.out)
    assert ended.out == again.out
    assert found["located"] == list(range(36, 97))
    assert found["keys"]["36"] == "matrix 1 row 0 column 0"
    assert {key for chord in found["chords"] for ghost in chord["ghosts"] for key in ghost["diodes"]} == {
        *range(36, 97)
    }
    for chord in found["chords"]:
        assert chord["left"] + chord["right"] == chord["keys"]
        assert all(key not in chord["keys"] for ghost in chord["ghosts"] for key in ghost["heard"])
    shorted, reversed_, broken = found["faults"][:3]
    assert (shorted["diode"], shorted["hold"], shorted["heard"], shorted["ghost_drops"]) == (36, [36, 37, 44], 45, 2)
    assert [fault["reads_alone"] for fault in (shorted, reversed_, broken)] == [True, False, False]
    assert [level["sight"] for level in found["levels"]] == ["not sure", "not sure"]


def test_rings(retrofit: Command, gutted: Path) -> None:
    """Rings hold eight keys and name no hands."""
    found = json.loads(retrofit("chords", gutted, "lower", "--rings", "--json").out)
    assert {len(chord["keys"]) for chord in found["chords"]} == {8}
    assert all("left" not in chord for chord in found["chords"])
    assert "  hold   " in retrofit("chords", gutted, "lower", "--rings").out


def test_a_dead_key_is_left_out(retrofit: Command, job_with: JobWith) -> None:
    """A key that cannot close is in no chord, and the page says so."""
    job = job_with(('note = "C4", condition = "sound", strip = "B"', 'note = "C4", condition = "dead", strip = "B"'))
    assert "left out, cannot be closed: lower.60" in retrofit("chords", job, "lower").out
    found = json.loads(retrofit("chords", job, "lower", "--json").out)
    assert found["not_played"] == ["lower.60"]
    assert all(60 not in chord["keys"] for chord in found["chords"])
    assert len(found["located"]) == 60


@pytest.mark.parametrize(
    ("wiring", "words"),
    [
        ('diodes = "schottky"', "read while no contact on its way has more than"),
        ('diodes = "unknown"', "[?] ghost of a shorted diode: nobody knows the kind of diode"),
    ],
)
def test_what_the_levels_say(wiring: str, words: str, retrofit: Command, job_with: JobWith) -> None:
    """Schottky diodes show their ghosts as long as contacts are good; an unknown diode promises nothing."""
    assert words in retrofit("chords", job_with(('diodes = "silicon"', wiring)), "lower").out


def test_measured_contacts_settle_it(retrofit: Command, job_with: JobWith) -> None:
    """With contacts of 1 Ω measured, a shorted Schottky diode's ghost is always read."""
    wiring = 'contact = "silver-leaf"\ncontact_resistance = "unknown"\nbounce = "unknown"\ncable_length = "0.6"'
    job = job_with((wiring, wiring.replace('"unknown"', '"1"', 1)), ('diodes = "silicon"', 'diodes = "schottky"'))
    assert "[+] ghost of a shorted diode: always read" in retrofit("chords", job, "lower").out


def test_short_rows_are_said(retrofit: Command, job_with: JobWith) -> None:
    """Thirteen keys leave columns with one key: no playing can show a short there."""
    whole = demo("gutted_home.toml")
    group = whole[whole.index('[[groups]]\nid = "lower"') : whole.index('[[groups]]\nid = "pedal"')]
    points = group[group.index("points = [") : group.index("[groups.wiring]")]
    compass = "lowest = 36, count = 61"
    job = job_with((group, group.replace(points, "").replace(compass, compass.replace("61", "13"))))
    out = retrofit("chords", job, "lower").out
    assert "F2 41, F#2 42, G2 43: no chord can show a short of its diode" in out


@pytest.mark.parametrize(
    ("changes", "group", "words"),
    [
        ((), "upper", "not on a diode matrix: its points lie elsewhere, the first at chain register 0 bit 0"),
        ((('diodes = "silicon"', 'diodes = "none"'),), "lower", 'has no diodes (wiring.diodes = "none")'),
        ((TWO_CONTACTS,), "lower", "has 2 contacts under each key"),
    ],
)
def test_why_not(
    changes: tuple[tuple[str, str], ...], group: str, words: str, retrofit: Command, job_with: JobWith
) -> None:
    """A group without chords ends with 1, its file, the reason and a remedy, and no data."""
    ended = retrofit("chords", job_with(*changes), group)
    assert (ended.code, ended.out) == (Exit.PROBLEMS, "")
    assert f"job.toml {group} " in ended.err
    assert words in ended.err


def test_a_group_that_there_is_not(retrofit: Command, gutted: Path) -> None:
    """A misspelt group is answered with the nearest one."""
    ended = retrofit("chords", gutted, "lwer")
    assert (ended.code, ended.out) == (Exit.USAGE, "")
    assert "did you mean 'lower'?" in ended.err


def test_a_stop_rail_by_its_names(retrofit: Command, job_with: JobWith) -> None:
    """Tabs have names and footage; 23 tabs on three rows are tested by three each, a tab left out is not."""
    text = demo("gutted_home.toml")
    start = text.index('kind = "stops"')
    rail = text[start : text.index("[[groups]]", start)]
    named = rail.replace('interface = "chain"', 'interface = "matrix"').replace(
        'name = "Oboe"', 'name = "Oboe\\u001b[2J"'
    )
    job = job_with((rail, named))
    group = text[:start].rsplit('id = "', 1)[1].split('"')[0]
    ended = retrofit("chords", job, group)
    assert ended.code == Exit.OK
    assert "Open Flute 8 (3)" in ended.out
    assert "Oboe\\x1b[2J 8 (11)" in ended.out
    assert "\x1b" not in ended.out
    assert f"left out, cannot be closed: {group}.vibrato" in ended.out
    assert ended.out.count(" accuses the diode of ") == 23


def test_progress_on_a_terminal(gutted: Path) -> None:
    """On a terminal the search tells its progress and the command ends well."""
    assert on_a_terminal("", "chords", gutted, "lower") == Exit.OK


def test_the_search_tells_its_progress(retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Progress goes to stderr on one line that is wiped at the end, and only where somebody looks."""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    ended = retrofit("chords", gutted, "lower")
    assert " of 61 diodes\x1b[K\r" in ended.err
    assert ended.err.endswith("\r\x1b[K\r8 chords for 61 of 61 diodes\n")

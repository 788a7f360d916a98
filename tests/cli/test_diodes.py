"""`retrofit diodes`: the page, its JSON, and groups that have no board."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from retrofit.cli.output import Exit
from tests.cli.conftest import Command, written
from tests.plan.jobs import GREAT, HEAD, OURS, diode_readings, keys, stops

JobWith = Callable[..., Path]
WALK = tuple((36 + key, f"a{key % 8}", f"b{key // 8}", "0,56 V") for key in range(61))
"""Made-up readings of a sound board of 61 keys."""


@pytest.fixture
def job_with(tmp_path: Path) -> JobWith:
    """Return a job with a manual of so many keys and these readings."""

    def make(*rows: tuple[int, str, str, str], count: int = 61) -> Path:
        return written(tmp_path / "job.toml", HEAD + GREAT + keys(count) + OURS + diode_readings(*rows))

    return make


def test_a_whole_board(retrofit: Command, job_with: JobWith, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows, columns, keys and the wishes for the job file, in lines of at most 80 columns."""
    monkeypatch.setenv("COLUMNS", "80")
    ended = retrofit("diodes", job_with(*WALK), "great")
    assert ended.code == Exit.OK
    assert "great: 61 of 61 keys have their crossing, on 8 rows and 8 columns\n" in ended.out
    assert "the column changes with every key, the row after 8 keys\n" in ended.out
    assert "  row 1, pin b1: G#2 44 at a0, A2 45 at a1," in ended.out
    assert "  columns: 0 pin a0, 1 pin a1," in ended.out
    assert "[+] can be used again" in ended.out
    assert "wanted.matrix_columns = 8" in ended.out
    assert "compass.order" not in ended.out
    assert max(map(len, ended.out.splitlines())) <= 80
    assert ended.err == "61 of 61 keys placed, no contradictions\n"


def test_keys_in_another_order_are_written_out(retrofit: Command, job_with: JobWith) -> None:
    """Where the row changes with every key, the order of contacts for the job file is given, without its empty end."""
    turned = [(36 + key, f"a{key // 5}", f"b{key % 5}", "0,56 V") for key in range(24)]
    out = retrofit("diodes", job_with(*turned, count=24), "great").out
    assert "the row changes with every key, the column after 5 keys\n" in out
    assert "compass.order = [36, 41, 46, 51, 56, 37, " in out
    assert "55]\n" in out


def test_a_board_half_read(retrofit: Command, job_with: JobWith) -> None:
    """The next key is named, a reading that tells nothing is shown, and the board is not called usable."""
    out = retrofit("diodes", job_with(*WALK[:9], (60, "a0", "b3", "wanders")), "great").out
    assert "great: 9 of 61 keys have their crossing" in out
    assert "\n  a row, pin b1: G#2 44 at a0\n  columns: pin a0, pin a1," in out
    assert "[?] C4 60 from a0 to b3 reads wanders: not counted\n" in out
    assert " next, which tells most" in out
    assert "52 presses at most are left\n" in out
    assert "  [x] 52 of 61 keys have no crossing yet; go on reading\n" in out


def test_nothing_read_yet(retrofit: Command, job_with: JobWith) -> None:
    """Without readings the page says which key to hold first."""
    ended = retrofit("diodes", job_with(), "great")
    assert ended.code == Exit.OK
    assert "hold C2 36 next" in ended.out


def test_contradictions_are_shown(retrofit: Command, job_with: JobWith) -> None:
    """A key that conducts both ways is accused with its remedy."""
    ended = retrofit("diodes", job_with(*WALK, (40, "b0", "a4", "0,56 V")), "great")
    assert "  [x] key 40 conducts both ways: a4 to b0, b0 to a4; the diode is shorted" in ended.out
    assert ended.err.endswith("1 contradiction\n")


def test_a_board_without_order(retrofit: Command, job_with: JobWith) -> None:
    """Where no regular order fits, the page says that every key has to be read."""
    pins = ("ax", "bx", "ay", "cx", "cy", "by")
    rows = [(36 + key, *pair, "0,5") for key, pair in enumerate(pins)]
    assert "no regular order fits the readings" in retrofit("diodes", job_with(*rows, count=8), "great").out


def test_the_json(retrofit: Command, job_with: JobWith) -> None:
    """The same for other programs, byte for byte the same each time."""
    job = job_with(*WALK[:9], (60, "a0", "b3", "wanders"), (37, "a1", "b0", "0"))
    ended = retrofit("diodes", job, "great", "--json")
    found = json.loads(ended.out)
    assert ended.out == retrofit("diodes", job, "great", "--json").out
    assert found["crossings"]["44"] == {"row": "b1", "column": "a0"}
    assert found["not_counted"] == [{"key": 60, "from_pin": "a0", "to_pin": "b3", "volts": "wanders"}]
    assert [one["kind"] for one in found["contradictions"]] == ["no drop"]
    assert found["next_press"]["key"] in found["unread"]
    assert (found["complete"], found["order"], found["row_drive"]) == (False, None, "unknown")
    assert found["reuse"]["row_pins"] == ["b0", "b1"]
    whole = json.loads(retrofit("diodes", job_with(*WALK), "great", "--json").out)
    assert (whole["order"], whole["next_press"]) == ({"column_changes": True, "run": 8, "begin": 0}, None)


def test_words_of_pins_and_names_are_safe(retrofit: Command, tmp_path: Path) -> None:
    """Neither a tab's name nor a pin can send the terminal anything."""
    tabs = stops('{ id = "oboe", name = "Ob\\u001b[2Joe" }')
    text = HEAD + GREAT + tabs + OURS + diode_readings((1, "a\\u001b[2J", "x", "0,5"))
    out = retrofit("diodes", written(tmp_path / "job.toml", text), "rail").out
    assert "Ob\\x1b[2Joe (1) at a\\x1b[2J" in out
    assert "\x1b" not in out


def test_groups_without_a_board(retrofit: Command, theatre: Path, gutted: Path) -> None:
    """Shoes end with 1 and the reason; a misspelt group is answered with the nearest."""
    shoes = theatre.read_text(encoding="utf-8").split('kind = "shoes"')[0].rsplit('id = "', 1)[1].split('"')[0]
    ended = retrofit("diodes", theatre, shoes)
    assert (ended.code, ended.out) == (Exit.PROBLEMS, "")
    assert f"theatre.toml {shoes} has shoes alone" in ended.err
    ended = retrofit("diodes", gutted, "lwer")
    assert (ended.code, ended.out) == (Exit.USAGE, "")
    assert "did you mean 'lower'?" in ended.err


def test_a_reading_of_a_key_that_there_is_not(retrofit: Command, job_with: JobWith) -> None:
    """The file is refused with line, key, what is allowed and the remedy."""
    ended = retrofit("diodes", job_with((97, "a0", "b0", "0,56 V")), "great")
    assert (ended.code, ended.out) == (Exit.PROBLEMS, "")
    assert "diode_readings.#1.key: found key 97; allowed notes 36 to 96; correct the key" in ended.err

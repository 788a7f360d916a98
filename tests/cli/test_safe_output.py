"""Text of the user's never acts on a terminal, and no input whatever ends in a traceback."""

from __future__ import annotations

import random
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.cli.terminal import columns, folded, shown
from tests.cli.conftest import Command, demo, process, written

HOSTILE = 'Vox\x1b[2J\x1b]0;own\x07 \u202etibia\u2066 */ #error "x" {{ 7*7 }} [red]=1+1\r\nUmana \x9b31m\u200b'


def acts_on_a_terminal(text: str) -> list[str]:
    """Return the characters of output that a terminal would obey: controls other than line ends, and format marks."""
    return [c for c in text if c != "\n" and unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"}]


def toml_text(text: str) -> str:
    """Return a TOML basic string with every character outside plain ASCII letters escaped."""
    return '"' + "".join(c if c.isalnum() and c.isascii() else f"\\U{ord(c):08x}" for c in text) + '"'


@pytest.fixture
def hostile(tmp_path: Path) -> Path:
    """Return a job whose names would act on a terminal, with a finding on a point that is so called."""
    name = toml_text(HOSTILE)
    text = demo("gutted_home.toml")
    text = text.replace('name = "Two-manual home console (demo, invented)"', f"name = {name}")
    text = text.replace('name = "Echo", ', f"name = {name},").replace(
        'text = "invented: leaf bent', f"text = {name[:-1]}"
    )
    assert text.count(name[:-1]) == 3
    return written(tmp_path / "hostile.toml", text)


@pytest.mark.parametrize(
    "arguments",
    [["check"], ["plan", "--points"], ["plan", "--json"], ["record"], ["build", "--out", "{folder}/out"]],
    ids=" ".join,
)
def test_names_cannot_act_on_a_terminal(arguments: list[str], retrofit: Command, hostile: Path, tmp_path: Path) -> None:
    """Whatever a stop is called, output holds only characters that print."""
    command, *options = (part.format(folder=tmp_path) for part in arguments)
    ended = retrofit(command, hostile, *options)
    assert ended.code == 0
    assert acts_on_a_terminal(ended.out + ended.err) == []


def test_the_name_is_still_to_be_read(retrofit: Command, hostile: Path) -> None:
    """What does not print stands there as its escape."""
    assert r"Vox\x1b[2J\x1b]0;own\x07 \u202etibia" in retrofit("plan", hostile).out


@pytest.mark.parametrize("command", ["check", "plan", "record", "ui"])
def test_a_hostile_file_name_is_shown_safely(command: str, retrofit: Command, tmp_path: Path) -> None:
    """A file name is text of the user's too."""
    ended = retrofit(command, tmp_path / "a\x1b[31m\u202eb.toml")
    assert ended.code == 3
    assert acts_on_a_terminal(ended.err) == []
    assert r"a\x1b[31m\u202eb.toml" in ended.err


@pytest.mark.parametrize("argument", ["\x1b[31mcheck", "che\nck", "\u202echeck"])
def test_a_hostile_command_is_shown_safely(argument: str, retrofit: Command) -> None:
    """What was typed comes back harmless."""
    ended = retrofit(argument)
    assert ended.code == 2
    assert acts_on_a_terminal(ended.err) == []


def test_random_bytes_are_told_apart_from_a_job(retrofit: Command, tmp_path: Path) -> None:
    """A hundred files of random bytes give problems and nothing else."""
    chance = random.Random(2)
    for number in range(100):
        path = tmp_path / f"{number}.toml"
        path.write_bytes(chance.randbytes(chance.randrange(1, 400)))
        ended = retrofit("check", path)
        assert ended.code == 1
        assert str(path) in ended.out
        assert "Traceback" not in ended.err


@pytest.mark.parametrize("length", range(200, 18_000, 700))
def test_a_truncated_job_is_a_problem(length: int, retrofit: Command, tmp_path: Path) -> None:
    """A job cut off anywhere gives problems, or findings where what is left is a job; never a traceback."""
    ended = retrofit("check", written(tmp_path / "cut.toml", demo("theatre.toml")[:length]))
    assert ended.code in {0, 1}
    assert "Traceback" not in ended.err


def test_a_file_name_that_is_no_text_is_no_fault(tmp_path: Path) -> None:
    """A file name with bytes outside every encoding is shown as escapes."""
    result = process("check", tmp_path / "a\udcffb.toml")
    assert result.returncode == 3
    assert r"a\udcffb.toml" in result.stderr


def test_a_terminal_without_the_letters_still_gets_an_answer(gutted: Path) -> None:
    """Where the output's encoding has no µ, its escape is written."""
    result = process("plan", gutted, env={"PYTHONIOENCODING": "iso8859-5"})
    assert result.returncode == 0
    assert r"tick 500 \xb5s" in result.stdout


@given(st.text())
def test_shown_text_always_prints(text: str) -> None:
    """Any text at all comes out printable, and printable text comes out as it was."""
    assert shown(text).isprintable()
    assert not text.isprintable() or shown(text) == text


@given(st.text(), st.integers(0, 8))
def test_folded_lines_print_and_keep_their_indent(text: str, indent: int) -> None:
    """Folding neither lets a control character through nor loses the indent."""
    lines = folded(text, " " * indent)
    assert all(line.isprintable() for line in lines)
    assert all(line.startswith(" " * indent) for line in lines if line.strip())


def test_columns_are_aligned() -> None:
    """Columns are as wide as their widest cell and lines carry no trailing spaces."""
    assert columns([("a", "bb", "c"), ("aaa", "b", "")]) == ["a    bb  c", "aaa  b"]

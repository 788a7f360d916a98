"""Every way in which a command can end has its exit code, its words on stderr, and no traceback."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
from pathlib import Path

import pytest

from retrofit.cli.app import COMMANDS
from retrofit.cli.output import MEANINGS, Exit
from retrofit.survey.system_calls import SystemCalls
from tests.cli.conftest import Command, process

FILES = {"gutted": 0, "faulty": 1, "misspelt": 1}


@pytest.mark.parametrize(("job", "code"), FILES.items())
def test_check_ends_by_what_it_found(job: str, code: int, retrofit: Command, request: pytest.FixtureRequest) -> None:
    """A sound job ends with 0, errors of the plan and problems of the file with 1."""
    ended = retrofit("check", request.getfixturevalue(job))
    assert ended.code == code
    assert "Traceback" not in ended.err


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        ([], Exit.USAGE, "Usage: retrofit"),
        (["chekc"], Exit.USAGE, "did you mean 'check'?"),
        (["xylophone"], Exit.USAGE, "there is no command 'xylophone'"),
        (["check"], Exit.USAGE, "Missing argument 'FILE'"),
        (["check", "--jsn"], Exit.USAGE, "No such option"),
        (["plan", "{gutted}", "--widht"], Exit.USAGE, "see: retrofit plan --help"),
        (["build", "{gutted}"], Exit.USAGE, "Missing option '--out'"),
        (["contacts"], Exit.USAGE, "Usage: retrofit contacts"),
        (["contacts", "export", "{gutted}", "tab"], Exit.USAGE, "did you mean 'tabs'?"),
        (["record", "{gutted}", "--wired", "uper"], Exit.USAGE, "did you mean 'upper'?"),
        (["new", "{folder}/new.toml"], Exit.USAGE, "--name is needed"),
        (["new", "{folder}/new.toml", "--name", "x", "--manual", "3000"], Exit.USAGE, "a number of keys from 1 to 128"),
        (["check", "{folder}/absent.toml"], Exit.FILES, "absent.toml"),
        (["check", "{folder}"], Exit.FILES, "a folder"),
        (["contacts", "import", "{gutted}", "tabs", "{folder}/absent.csv"], Exit.FILES, "absent.csv"),
        (["schema", "--out", "{gutted}/below-a-file"], Exit.FILES, "gutted.toml"),
        (["new", "{gutted}", "--name", "x"], Exit.FILES, "a new name is needed"),
        (["build", "{gutted}", "--out", "{folder}"], Exit.FILES, "no earlier build wrote"),
    ],
    ids=lambda part: " ".join(part) if isinstance(part, list) else "",
)
def test_wrong_calls_and_files(
    arguments: list[str], code: Exit, said: str, retrofit: Command, gutted: Path, tmp_path: Path
) -> None:
    """A wrong call ends with 2 and a file that cannot be used with 3, and the words say what was wrong."""
    ended = retrofit(*(part.format(gutted=gutted, folder=tmp_path) for part in arguments))
    assert ended.code == code
    assert said in ended.err
    assert "Traceback" not in ended.err
    assert ended.out == ""


def test_a_fault_of_the_program_is_one_line(retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What nobody foresaw ends with 70 and says how to report it; the traceback is for whoever asks for it."""

    def broken(_job: object) -> None:
        raise RuntimeError("a wheel came off")

    monkeypatch.setattr("retrofit.cli.plan.planned", broken)
    ended = retrofit("plan", gutted)
    assert ended.code == Exit.UNEXPECTED
    assert "RuntimeError: a wheel came off" in ended.err
    assert "please report it" in ended.err
    assert "Traceback" not in ended.err
    monkeypatch.setenv("RETROFIT_DEBUG", "1")
    assert "Traceback" in retrofit("plan", gutted).err


def test_an_interrupted_command_says_so(retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C ends with 130 and one word."""

    def interrupted(_job: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("retrofit.cli.plan.planned", interrupted)
    ended = retrofit("plan", gutted)
    assert (ended.code, ended.err) == (Exit.INTERRUPTED, "interrupted\n")


def test_a_reader_that_stops_reading_is_no_fault() -> None:
    """With the pipe closed the command ends with 141 and says nothing, however much it still had to write."""
    reading, writing = os.pipe()
    os.close(reading)
    result = process("schema", stdout=writing, stderr=subprocess.PIPE, capture_output=False)
    os.close(writing)
    assert (result.returncode, result.stderr) == (Exit.PIPE_CLOSED, "")
    assert Exit.PIPE_CLOSED == 128 + signal.SIGPIPE


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a device that is always full")
def test_a_full_disk_is_said() -> None:
    """Data that cannot be written ends with 3 and the system's reason."""
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        result = process("rules", stdout=full, stderr=subprocess.PIPE, capture_output=False)
    assert result.returncode == Exit.FILES
    assert result.stderr == "No space left on device; make room on that disk, or name another place\n"


@pytest.mark.parametrize(
    ("error", "remedy"),
    [
        (PermissionError(errno.EACCES, "Permission denied", "x"), "see who may read and write the file and its folder"),
        (OSError(errno.ENOSPC, "No space left on device", "x"), "make room on that disk"),
    ],
    ids=["permission", "space"],
)
def test_a_refusal_of_the_system_comes_with_a_remedy(
    error: OSError, remedy: str, retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever a file is refused, the words end with what to do, and the exit code is that of files."""

    def refuse(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(SystemCalls, "open_to_write", refuse)
    before = gutted.read_bytes()
    for arguments in (("record", gutted), ("putback", gutted, "--out", gutted.with_name("sheet.txt"))):
        ended = retrofit(*arguments)
        assert ended.code == Exit.FILES
        assert remedy in ended.err
        assert "save again" not in ended.err
    assert gutted.read_bytes() == before


def test_a_job_that_may_not_be_read_is_a_problem_of_files(
    retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the system says beforehand of the file's permissions, the command ends with 3 and a remedy."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    monkeypatch.setattr(Path, "open", refuse)
    for command in ("check", "plan", "ui", "record", "putback"):
        ended = retrofit(command, gutted)
        assert ended.code == Exit.FILES
        assert "Permission denied" in ended.err
        assert "see who may read and write the file" in ended.err


def test_names_are_listed_one_to_a_line_when_they_are_many(retrofit: Command, gutted: Path) -> None:
    """A finding that is like none gets the list of all, each on its own line; a few groups stay in the sentence."""
    ended = retrofit("explain", "nope")
    assert ended.code == Exit.USAGE
    assert "  late-note-off" in ended.err.splitlines()
    assert retrofit("contacts", "export", gutted, "xylophone").err.count("\n") == 1


def test_help_names_every_command_and_exit_code(retrofit: Command) -> None:
    """The first page of help is whole: all commands and all endings."""
    ended = retrofit("--help")
    assert ended.code == Exit.OK
    assert all(f"\n  {name} " in ended.out for name in COMMANDS)
    assert all(f"{code.value:>3}  {words}" in ended.out for code, words in MEANINGS.items())


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(name: str, retrofit: Command) -> None:
    """Each command loads and explains itself."""
    ended = retrofit(name, "--help")
    assert ended.code == Exit.OK
    assert f"Usage: retrofit {name}" in ended.out


def test_the_version(retrofit: Command) -> None:
    """The quick way and the library's way say the same."""
    assert process("--version").stdout == retrofit("--version").out

"""`retrofit board`: who a board is, whether it is of a job, and its job saved again, over real ports."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.description import job_revision, packed_description
from retrofit.firmware.link.serial_line import PortSeen
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import load_job
from retrofit.survey.packed_text import pack_text
from tests.cli.conftest import Command, on_a_terminal, written
from tests.link.boards import HandMadeBoard, of_version, silent, unplugged_after
from tests.link.pseudo_terminal import on_a_port

YES = "--yes-isolated"


def planned(file: Path) -> ConversionPlan:
    """Return the plan of a job file."""
    return plan_conversion(load_job(file), load_catalogue())


def board_of(plan: ConversionPlan, description: bytes | None = None) -> HandMadeBoard:
    """Return a board that holds a plan, and keeps its description unless another is given."""
    texts = dict(enumerate((plan.job.instrument.name, plan.digest, job_revision(plan))))
    return HandMadeBoard(packed_description(plan) if description is None else description, texts)


def test_without_a_port_the_ports_are_listed(retrofit: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each port is a line, or a JSON object; where there is none that is said, and it is no failure."""
    seen = (PortSeen("/dev/ttyACM0", "Controller \x1b[2J board"), PortSeen("/dev/ttyS0", ""))
    monkeypatch.setattr("retrofit.cli.board.ports_seen", lambda: seen)
    assert retrofit("board").out == "/dev/ttyACM0  Controller \\x1b[2J board\n/dev/ttyS0\n"
    assert json.loads(retrofit("board", "--json").out)[0]["port"] == "/dev/ttyACM0"
    monkeypatch.setattr("retrofit.cli.board.ports_seen", lambda: ())
    ended = retrofit("board")
    assert (ended.code, ended.out) == (0, "")
    assert "no serial port is there" in ended.err


def test_a_port_without_a_question_is_asked_what_to_ask(retrofit: Command) -> None:
    """The questions are listed, and nothing is opened."""
    ended = retrofit("board", "/dev/ttyACM0")
    assert ended.code == 2
    assert "say what to ask of /dev/ttyACM0: bounce, compare" in ended.err


def test_who_says_job_digest_and_how_the_board_stands(retrofit: Command, gutted: Path) -> None:
    """Name, digest and revision are the plan's; restarts, memory and run time are the board's."""
    plan = planned(gutted)
    with on_a_port(board_of(plan)) as port:
        ended = retrofit("board", port, "who", YES)
        content = json.loads(retrofit("board", port, "who", YES, "--json").out)
    assert ended.code == 0, ended.err
    for words in (plan.digest, job_revision(plan), plan.job.instrument.name, "power-on and the watchdog", "1 d 1 h"):
        assert words in ended.out
    assert (content["digest"], content["uptime_s"], content["free_bytes"]) == (plan.digest, 90_061, 3000)


def test_nobody_to_ask_and_no_isolator_keeps_the_port_shut(retrofit: Command, theatre: Path) -> None:
    """Where originals are or may be at stake the cautions are said and the port is not opened."""
    board = board_of(planned(theatre))
    with on_a_port(board) as port:
        for question in (("who",), ("compare", theatre), ("panic",)):
            ended = retrofit("board", port, *question)
            assert ended.code == 2
            assert "joins the computer's earth to the console" in ended.err
            assert "--yes-isolated" in ended.err
    assert board.asked == []


def test_a_job_whose_originals_do_not_stay_is_not_asked(retrofit: Command, gutted: Path) -> None:
    """The cautions are still said; the port is opened without a question."""
    with on_a_port(board_of(planned(gutted))) as port:
        ended = retrofit("board", port, "compare", gutted)
    assert ended.code == 0, ended.err
    assert "may start the board anew" in ended.err


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 2)])
def test_on_a_terminal_somebody_is_asked(theatre: Path, answer: str, code: int) -> None:
    """Yes opens the port, no ends the command before anything is asked of the board."""
    board = board_of(planned(theatre))
    with on_a_port(board) as port:
        assert on_a_terminal(answer, "board", port, "compare", theatre) == code
    assert bool(board.asked) == (code == 0)


def test_compare_says_that_a_board_is_of_the_file(retrofit: Command, theatre: Path) -> None:
    """Same digest and revision end with 0; a remark added since is said, and is no difference of the board."""
    board = board_of(planned(theatre))
    with on_a_port(board) as port:
        ended = retrofit("board", port, "compare", theatre, YES)
        theatre.write_text(theatre.read_text(encoding="utf-8").replace("owner signed", "owner has signed"), "utf-8")
        later = retrofit("board", port, "compare", theatre, YES)
    assert ended.code == later.code == 0, ended.err
    assert f"the board holds the plan of {theatre}" in ended.out
    assert "remarks" not in ended.out
    assert "remarks, readings or conditions changed since" in later.out


def test_compare_says_what_differs_point_by_point(retrofit: Command, gutted: Path) -> None:
    """A renamed stop, another channel and another board wish are named as the board and as the file have them."""
    board = board_of(planned(gutted))
    text = gutted.read_text(encoding="utf-8")
    stop = next(line for line in text.splitlines() if "name =" in line and "footage" in line)
    name = stop.split('name = "')[1].split('"')[0]
    changed = written(gutted.parent / "changed.toml", text.replace(f'name = "{name}"', 'name = "Vox\\u202eHumana"', 1))
    changed.write_text(changed.read_text("utf-8").replace("channel = 1\n", "channel = 9\n", 1), "utf-8")
    with on_a_port(board) as port:
        ended = retrofit("board", port, "compare", changed)
        content = json.loads(retrofit("board", port, "compare", changed, "--json").out)
    assert ended.code == 1
    assert f"name: on the board {name}, in the file Vox\\u202eHumana" in ended.out
    assert "upper.36: sends: on the board note 36 on channel 1" in ended.out
    assert "note 36 on channel 9" in ended.out
    assert "the board does not hold the plan" in ended.err
    assert not content["same"]
    assert {"subject", "what", "board", "file"} == set(content["differences"][0])


def test_compare_without_a_description_says_that_it_cannot_say_what(retrofit: Command, gutted: Path) -> None:
    """Digest against digest is still told."""
    board = board_of(planned(gutted), b"")
    board.texts[1] = "f" * 16
    with on_a_port(board) as port:
        ended = retrofit("board", port, "compare", gutted)
    assert ended.code == 1
    assert "what differs cannot be said" in ended.err
    assert "plan ffffffffffffffff" in ended.out


def test_compare_says_when_this_program_plans_the_board_otherwise(retrofit: Command, gutted: Path) -> None:
    """A board whose own job no longer plans to its digest was built by another version, and that is said."""
    board = board_of(planned(gutted))
    board.texts[1] = "f" * 16
    with on_a_port(board) as port:
        ended = retrofit("board", port, "compare", gutted)
    assert ended.code == 1
    assert "not as ffffffffffffffff: some of what differs may come of the program" in ended.err


@pytest.mark.parametrize("demo", ["gutted", "theatre"])
def test_save_gives_a_file_that_plans_the_same(
    retrofit: Command, demo: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """The file that comes back is checked, plans the same digest, and an existing file is never overwritten."""
    source: Path = request.getfixturevalue(demo)
    back = tmp_path / "back.toml"
    board = board_of(planned(source))
    with on_a_port(board) as port:
        ended = retrofit("board", port, "save", back, YES)
        content, asked = back.read_bytes(), len(board.asked)
        again = retrofit("board", port, "save", back, YES)
    assert ended.code == 0, ended.err
    assert planned(back).digest == planned(source).digest
    assert again.code == 3
    assert "a new name is needed" in again.err
    assert len(board.asked) == asked, "the board is not read for a file that cannot be written"
    assert back.read_bytes() == content


@pytest.mark.parametrize(
    ("description", "code", "said", "kept"),
    [
        (b"", 1, "keeps no job description", False),
        (b"\0not packed at all", 1, "cannot be read: it is damaged", False),
        (pack_text("format = 99\n"), 1, "finds fault with it", True),
        (pack_text("format = 1 \x1b[2J"), 1, "finds fault with it", True),
    ],
    ids=["none", "damaged", "newer format", "no TOML"],
)
def test_what_a_board_keeps_is_saved_if_it_can_be_read(
    retrofit: Command, gutted: Path, tmp_path: Path, description: bytes, code: int, said: str, kept: bool
) -> None:
    """A text with faults is kept for whoever can read it, and the faults are said; bytes that are no text are not."""
    back = tmp_path / "back.toml"
    with on_a_port(board_of(planned(gutted), description)) as port:
        ended = retrofit("board", port, "save", back, YES)
    assert ended.code == code
    assert said in ended.err
    assert "\x1b" not in ended.err
    assert back.exists() == kept


def test_a_link_that_fails_is_said_with_the_port(
    retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Silence, another version, a pulled plug and a missing port end the command with 3, the port and a remedy."""
    monkeypatch.setattr("retrofit.cli.board_port.GREETING_S", 0.5)
    plan = planned(gutted)
    other, gone = board_of(plan), board_of(plan)
    other.spoil, gone.spoil = of_version(7), unplugged_after(2)
    for behaviour, said in ((silent, "nothing came at all"), (other, "version 7"), (gone, "went away")):
        with on_a_port(behaviour) as port:
            ended = retrofit("board", port, "compare", gutted)
        assert ended.code == 3
        assert f"{port}: " in ended.err
        assert said in ended.err


def test_a_port_that_is_not_there_is_found_before_anybody_is_asked(retrofit: Command, gutted: Path) -> None:
    """Neither the cautions nor the question about the isolator come for a port that cannot be opened anyway."""
    for port, said in ((gutted.parent / "no-port", "No such file or directory"), (gutted, "it is no serial port")):
        ended = retrofit("board", port, "who")
        assert ended.code == 3
        assert said in ended.err
        assert "isolat" not in ended.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("who",), "PORT is missing in front of 'who': retrofit board PORT who"),
        (("compare", "job.toml"), "PORT is missing in front of 'compare': retrofit board PORT compare job.toml"),
        (("/dev/null", YES, "who"), f"{YES} belongs behind the question: retrofit board /dev/null who {YES}"),
        (("/dev/null", "--json", "who"), "--json belongs behind the question: retrofit board /dev/null who --json"),
        (("",), "PORT is empty"),
        (("", "who"), "PORT is empty"),
        (("/dev/null", "watch", "--seconds", "nan"), "'nan' is no number of time that ends"),
        (("/dev/null", "shoes", "job.toml", "--seconds", "inf"), "'--seconds'"),
        (
            ("/dev/null", "bounce", "job.toml", "--group", "x", "--seconds", "inf"),
            "'inf' is no number of time that ends",
        ),
    ],
    ids=lambda part: " ".join(part) if isinstance(part, tuple) else "",
)
def test_a_call_in_the_wrong_order_is_answered_with_the_right_one(
    retrofit: Command, arguments: tuple[str, ...], said: str
) -> None:
    """A port that is forgotten or empty, an option in front of the question, and a time without end are said."""
    ended = retrofit("board", *arguments)
    assert ended.code == 2
    assert said in ended.err

"""`retrofit record` keeps what points send; what would change is asked for as moves are."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Command, on_a_terminal


def points_of(retrofit: Command, job: Path) -> dict[str, dict[str, Any]]:
    """Return the planned points by id."""
    return {point["id"]: point for point in json.loads(retrofit("plan", job, "--json").out)["points"]}


def put_in_front(job: Path, division: str) -> None:
    """Give the job another division before all others, and let none name its channel any more."""
    text = re.sub(r"(?m)^channel = \d+\n", "", job.read_text(encoding="utf-8"))
    job.write_text(text.replace("[[divisions]]", f'[[divisions]]\nid = "{division}"\n\n[[divisions]]', 1), "utf-8")


def set_channel(job: Path, division: str, channel: int) -> None:
    """Let a division that names its channel name another one."""
    text = job.read_text(encoding="utf-8")
    changed = re.sub(rf'(\[\[divisions\]\]\nid = "{division}"\n(?:name.*\n)?channel = )\d+', rf"\g<1>{channel}", text)
    assert changed != text
    job.write_text(changed, "utf-8")


def test_every_point_that_sends_has_its_message_recorded(retrofit: Command, theatre: Path) -> None:
    """Keys, tabs, shoes and the roller each have their line, in one edit with the addresses."""
    ended = retrofit("record", theatre)
    assert ended.code == 0
    recorded = tomllib.loads(theatre.read_text(encoding="utf-8"))["messages"]
    points = points_of(retrofit, theatre)
    assert set(recorded) == {name for name, point in points.items() if point["on"] or "controller" in point}
    assert recorded["great.36"] == f"note 36 on channel {int(points['great.36']['on'][1], 16) + 1}"
    for shoe in ("shoes.main", "crescendo"):
        said = f"controller {points[shoe]['controller']} on channel {points[shoe]['channel']}"
        assert recorded[shoe] == said
    assert f"{len(recorded)} messages recorded" in ended.out
    assert len(list(theatre.parent.glob("theatre.toml.*"))) == 1


def test_a_division_in_front_changes_nothing_that_is_wired(retrofit: Command, gutted: Path) -> None:
    """Every division is wired, another comes first in the file: each point sends what it sent."""
    divisions = ("upper", "lower", "pedal", "controls")
    retrofit("record", gutted, *(option for name in divisions for option in ("--wired", name)))
    before = points_of(retrofit, gutted)
    put_in_front(gutted, "antiphonal")
    assert points_of(retrofit, gutted) == before


@pytest.mark.parametrize("command", ["build", "record"])
def test_changes_are_listed_and_wait_for_consent(command: str, retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Where nobody can be asked, what would change is listed and nothing is written."""
    retrofit("record", gutted)
    set_channel(gutted, "pedal", 9)
    before = gutted.read_bytes()
    options = ["--out", tmp_path / "out"] if command == "build" else []
    ended = retrofit(command, gutted, *options)
    assert ended.code == 1
    assert "recorded messages would change:" in ended.err
    assert "pedal.36: note 36 on channel 3 -> note 36 on channel 9" in ended.err
    assert "nothing written; --accept-moves agrees" in ended.err
    assert gutted.read_bytes() == before
    assert not (tmp_path / "out").exists()
    assert retrofit(command, gutted, *options, "--accept-moves").code == 0


@pytest.mark.parametrize(("answer", "code"), [("y", 0), ("n", 1)])
def test_on_a_terminal_changes_are_asked_for(answer: str, code: int, retrofit: Command, gutted: Path) -> None:
    """Only a yes changes what was recorded."""
    retrofit("record", gutted)
    set_channel(gutted, "pedal", 9)
    assert on_a_terminal(f"{answer}\n", "record", gutted) == code
    recorded = tomllib.loads(gutted.read_text(encoding="utf-8"))["messages"]
    assert recorded["pedal.36"] == f"note 36 on channel {9 if code == 0 else 3}"


def test_agreed_changes_are_settled(retrofit: Command, gutted: Path) -> None:
    """Once they are recorded, nothing would change any more, and the JSON lists none."""
    retrofit("record", gutted)
    set_channel(gutted, "pedal", 9)
    listed = json.loads(retrofit("plan", gutted, "--json").out)["message_changes"]
    assert {
        "point": "pedal.36",
        "recorded": "note 36 on channel 3",
        "proposed": "note 36 on channel 9",
        "wired": False,
    } in listed
    retrofit("record", gutted, "--accept-moves")
    assert json.loads(retrofit("plan", gutted, "--json").out)["message_changes"] == []
    assert retrofit("record", gutted).code == 0


def test_a_wired_point_is_wished_elsewhere_only_with_consent(retrofit: Command, gutted: Path) -> None:
    """An explicit channel of a wired division wins over the record, after it was listed and agreed to."""
    retrofit("record", gutted, "--wired", "pedal")
    set_channel(gutted, "pedal", 9)
    refused = retrofit("record", gutted)
    assert refused.code == 1
    assert "pedal.36: note 36 on channel 3 -> note 36 on channel 9" in refused.err
    assert "message-differs-from-recorded" in retrofit("check", gutted).out
    assert retrofit("record", gutted, "--accept-moves").code == 0


def test_a_roller_is_a_shoe_and_its_stages_name_it(retrofit: Command, theatre: Path) -> None:
    """The roller's own entry has controller, channel and bits; each of its stages says whose stage it is."""
    points = points_of(retrofit, theatre)
    assert {"controller", "channel", "bits"} <= set(points["crescendo"])
    stages = [point for name, point in points.items() if name.startswith("crescendo.")]
    assert stages
    assert {point["stage_of"] for point in stages} == {"crescendo"}
    assert [name for name, point in points.items() if "stage_of" in point and not name.startswith("crescendo.")] == []


@pytest.mark.parametrize("name", ["gutted", "theatre"])
def test_the_demos_have_no_doubtful_volts_or_figures(
    name: str, retrofit: Command, request: pytest.FixtureRequest
) -> None:
    """No line of ours is driven, all voltages are low ones, no figure is absurd, nothing wired is unrecorded."""
    found = json.loads(retrofit("plan", request.getfixturevalue(name), "--json").out)["findings"]
    doubtful = {
        "line-is-driven",
        "voltage-not-low",
        "cable-length-doubtful",
        "contact-resistance-doubtful",
        "bounce-is-zero",
        "register-gap",
        "wired-point-without-address",
        "wired-point-without-message",
    }
    assert doubtful.isdisjoint(finding["rule"] for finding in found)

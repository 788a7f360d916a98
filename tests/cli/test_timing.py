"""`retrofit timing`: bars, promises and the wire, for people and for programs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from retrofit.cli.budget_bar import LETTERS, bar
from retrofit.timing.budget import Budget, Part
from tests.cli.conftest import Command


def test_a_bar_has_a_letter_for_each_part() -> None:
    """Parts are as long as their share, and the whole is as long as it should be whatever is rounded."""
    budget = Budget(((Part.SCAN, 1_000.0), (Part.DEBOUNCE, 500.0), (Part.WIRE, 500.0)), bounce_us=2_000.0)
    assert bar(budget, 4_000.0, 8) == "bbbbssdw"
    assert bar(Budget(budget.parts, None), 4_000.0, 8) == "ssdw"
    thirds = Budget(tuple((part, 1_000.0) for part in (Part.SCAN, Part.LANE, Part.WIRE)), None)
    assert len(bar(thirds, 3_000.0, 10)) == 10
    assert len(set(LETTERS.values())) == len(Part)


def test_every_line_fits_eighty_columns(
    retrofit: Command, theatre: Path, gutted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal of 80 columns no line is longer, and no colour is needed."""
    monkeypatch.setenv("COLUMNS", "80")
    for job in (theatre, gutted):
        shown = retrofit("timing", job)
        assert shown.code == 0
        assert max(map(len, shown.out.splitlines())) <= 80
        assert "\x1b" not in shown.out


def test_the_parts_and_the_wire_are_shown(retrofit: Command, theatre: Path) -> None:
    """A group has its bar, its figures and its promises; bursts have a verdict in words."""
    shown = retrofit("timing", theatre).out
    assert "  bbbb" in shown
    assert "2.13 ms once settled (a release 5.64 ms): bounce 3.90, sense circuit 0.01" in shown
    assert "tutti, 10 keys on every channel, key by key: heard as a spread: a second port or USB" in shown
    assert "up to 95 at once, room for 32" in shown
    assert "if every contact changed between two samples, the scan would take" in shown


def test_json_holds_what_is_shown(retrofit: Command, theatre: Path) -> None:
    """The parts sum to the time from the touch, and the text is the same every time."""
    shown = retrofit("timing", theatre, "--json")
    content = json.loads(shown.out)
    for group in content["groups"]:
        assert sum(group["press_parts_us"].values()) == pytest.approx(group["press_touched_us_max"] or 0, rel=1e-4) or (
            group["press_touched_us_max"] is None
        )
    assert [burst["id"] for burst in content["bursts"]][:2] == ["chord", "glissando"]
    assert retrofit("timing", theatre, "--json").out == shown.out


def test_a_job_without_a_known_board_still_shows_its_wire(retrofit: Command, gutted: Path) -> None:
    """Where nothing can be sampled yet, what the wire must carry is shown and the rest is referred to."""
    text = gutted.read_text(encoding="utf-8")
    gutted.write_text(text.replace('board = "atmega2560"', 'board = "another"'), encoding="utf-8")
    shown = retrofit("timing", gutted)
    assert shown.code == 0
    assert "chord, 10 keys of one manual at once: sounds together" in shown.out
    assert f"no group has a timing yet; see: retrofit check {gutted}" in shown.err

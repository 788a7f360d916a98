"""The sentences and the histogram under a table of measured bounces, on strokes made by hand."""

from __future__ import annotations

from retrofit.cli.board_bounce_lines import bounce_content, bounce_lines
from retrofit.firmware.link.answers import Capture, Captured, Strokes
from retrofit.firmware.link.bounce_run import Bounce, Part, bounce_of

CONTACTS, NAMES = {3: "great.36"}, {"great.36": "C2"}
NEVER = Strokes(0, 0, 0, None, 0, (0,) * 8)
PLAYED = Strokes(24, 3, 5, 1, 200, (12, 0, 6, 0, 0, 0, 0, 6))


def lines_of(captured: Captured, period_us: int = 500, rest_samples: int = 80) -> list[str]:
    """Return what is shown of one contact."""
    part = Part(Capture(0, 1, 0, rest_samples, 0), (3,), period_us)
    return bounce_lines([bounce_of(captured, period_us)], [part], CONTACTS, NAMES)


def test_strokes_are_shown_by_their_bounce() -> None:
    """Bins double from a period on; the longest bar is 24 cells, and what is there at all has one."""
    lines = lines_of(Captured(3, False, 0, PLAYED, NEVER, late=0))
    at = lines.index(next(line for line in lines if line.startswith("bounce of a stroke")))
    rows = [line.split() for line in lines[at + 1 : at + 9]]
    assert rows[0] == ["under", "0.5", "ms", "12", "#" * 24, "0"]
    assert rows[2] == ["under", "2", "ms", "6", "#" * 12, "0"]
    assert rows[7] == ["32", "ms", "or", "more", "6", "#" * 12, "0"]
    assert lines[-1] == "bounces are less than what is shown, which is known to one sample of 500 µs"


def test_a_way_that_was_never_played_is_unknown() -> None:
    """No stroke is no bounce of 0 ms: the table says so, and other programs get null."""
    one: Bounce = bounce_of(Captured(3, False, 0, PLAYED, NEVER, late=0), 500)
    assert "100.5 ms  not played" in lines_of(one.captured)[1]
    content = bounce_content(one, CONTACTS)
    assert (content["closing_us"], content["opening_us"], content["strokes"]) == (100_500, None, 0)


def test_a_rest_that_the_board_cannot_count_is_said() -> None:
    """255 samples of 125 µs are 31.875 ms, less than the 40 ms that are asked for; 80 of 500 µs are enough."""
    captured = Captured(3, False, 0, PLAYED, PLAYED, late=0)
    assert any("taken for at rest after 31.875 ms" in line for line in lines_of(captured, 125, 255))
    assert not any("at rest" in line for line in lines_of(captured))


def test_samples_that_came_late_are_counted_or_unknown() -> None:
    """Some are said with their number, none with nothing, and a board that does not count them is said to be older."""
    said = {late: lines_of(Captured(3, False, 0, PLAYED, PLAYED, late))[-1] for late in (None, 0, 7, 255)}
    assert "not known" in str(said[None])
    assert "late" not in said[0]
    assert said[7].startswith("7 samples of a part came late")
    assert said[255].startswith("255 or more samples")

"""Hostile frames: the board link under the sanitizers, what the frames reach, and that a broken core is found out."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.build import CORE
from tests.firmware.fuzz.programs import FuzzError, coverage, fuzz_link
from tests.firmware.linked import REASONS, WORDS

FRAMES = 50_000
SEED = 1
KINDS = {
    *("WHO", "TEXT", "DESCRIPTION", "LANES", "SHOES", "SHOES_ANEW", "COUNTERS", "PACE", "PACE_ANEW"),
    *("CAPTURE", "CAPTURED", "CAPTURE_END", "REMAP", "REMAP_PUT", "REMAP_KEEP", "REMAP_CLEAR", "PANIC", "REPORT"),
}


def test_fifty_thousand_hostile_frames_do_no_harm(tmp_path: Path) -> None:
    """Nothing hangs, nothing is written on no order, every answer is well-formed, and about half the frames were whole.

    The same seed makes the same frames, and so the same counts.
    """
    done = fuzz_link(tmp_path, FRAMES, SEED)
    assert done.frames == FRAMES
    assert 0.45 < done.whole / done.frames < 0.75
    assert sum(done.answered.values()) + sum(done.refused.values()) == done.whole
    assert set(done.answered) == {WORDS[f"LINK_{kind}"] for kind in KINDS}, "every question was answered at least once"
    assert set(done.refused) == {WORDS[f"LINK_{reason}"] for reason in REASONS if reason != "NOT_HERE"}
    assert done.records > 50
    assert done.store_writes > done.records


def test_the_frames_reach_all_of_the_link(tmp_path: Path) -> None:
    """Nineteen lines of twenty are reached; the others belong to parts that this console has not, or to long times."""
    covered = coverage(tmp_path, 20_000, SEED)
    shown = "\n".join(file.line() for file in covered)
    assert sum(file.lines_all for file in covered) > 700
    assert sum(file.lines for file in covered) >= 0.95 * sum(file.lines_all for file in covered), shown
    assert sum(file.branches for file in covered) >= 0.9 * sum(file.branches_all for file in covered), shown
    assert all(file.lines >= 0.7 * file.lines_all for file in covered), shown


FAULTS = {
    "no check": ("frames.c", " && check == frame_check()", "", "half an answer|nobody asked for"),
    "no end": ("frames.c", "if (frame_size == LINK_BODY_MAX)", "if (broken)", "index 61 out of bounds"),
    "no version": ("link.c", "frame_body[BODY_VERSION] = LINK_VERSION;", "", "another version"),
    "too slow": (
        "link.c",
        "left != 0 && port_link_room() != 0",
        "left == BYTES_EACH_TICK && port_link_room() != 0",
        "in time",
    ),
    "any length": ("link_questions.c", "return length + 1 == wanted", "return length != 99", "another reason"),
    "a lane changed": (
        "link_inputs.c",
        "at[2] = lane_states[lane].muted;",
        "lane_states[first].listen ^= 1;",
        "state of a lane",
    ),
    "written unasked": (
        "remap_store.c",
        "    work = WORK_NONE;\n    if (state",
        "    work_begin(WORK_WRITE);\n    if (state",
        "by a restart",
    ),
    "text without end": ("link_about.c", "if (offset < size)", "if (size != 0)", "overflow"),
}
"""File, what stands there, what takes its place, and what the fuzzer says then."""


@pytest.mark.parametrize("fault", FAULTS)
def test_a_broken_core_is_found_out(tmp_path: Path, fault: str) -> None:
    """With one guard of the core taken away or one fault put in, the run ends and says what must not be."""
    file, right, wrong, words = FAULTS[fault]
    text = (CORE / file).read_text(encoding="utf-8")
    assert text.count(right) == 1
    patched = tmp_path / "patched"
    patched.mkdir()
    (patched / file).write_text(text.replace(right, wrong), encoding="utf-8")
    with pytest.raises(FuzzError, match=words):
        fuzz_link(tmp_path, 5_000, SEED, patched=patched)

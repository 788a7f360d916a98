"""`retrofit chords` on a matrix whose rows are driven: pairs of keys in place of chords."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from retrofit.cli.output import Exit
from tests.cli.conftest import Command, written
from tests.plan.jobs import GREAT, HEAD, OURS, keys

DRIVEN = 'diodes = "schottky"\n[groups.wanted]\ninterface = "matrix"\nmatrix_drive = "push-pull"\n'


@pytest.fixture
def driven(tmp_path: Path) -> Path:
    """Return a job with 13 keys on a matrix whose rows are driven."""
    return written(tmp_path / "job.toml", HEAD + GREAT + keys(13) + OURS + DRIVEN)


def test_the_page_sweeps_the_columns(retrofit: Command, driven: Path) -> None:
    """13 keys on two rows are five pairs n and n + 8, and three keys that are alone in their column."""
    ended = retrofit("chords", driven, "great")
    assert ended.code == Exit.OK
    assert "13 keys on 2 rows and 8 columns, rows driven; 5 pairs" in " ".join(ended.out.split())
    assert ["C2", "36", "G#2", "44"] in [line.split() for line in ended.out.splitlines()]
    assert "F2 41, F#2 42, G2 43: alone in the column" in ended.out
    assert "ghost" not in ended.out
    assert ended.err == "5 pairs for 10 of 13 diodes\n"


def test_the_json_names_the_same_pairs(retrofit: Command, driven: Path) -> None:
    """Same job, same bytes; the pairs are those of the page."""
    ended, again = (retrofit("chords", driven, "great", "--json") for _ in range(2))
    found = json.loads(ended.out)
    assert ended.out == again.out
    assert found["rows"] == "push-pull"
    assert found["pairs"] == [[36, 44], [37, 45], [38, 46], [39, 47], [40, 48]]
    assert found["alone"] == [41, 42, 43]

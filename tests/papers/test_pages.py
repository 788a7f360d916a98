"""Pages of 80 columns and 60 lines."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from retrofit.papers.pages import CONTINUED, LINES, WIDTH, Block, paged
from retrofit.papers.text_cells import cells_of
from tests.writer.plans import bench_plan

PLAN = bench_plan()


def pages_of(text: str) -> list[list[str]]:
    """Return the pages as lists of lines."""
    lines = text.splitlines()
    return [lines[start : start + LINES] for start in range(0, len(lines), LINES)]


@st.composite
def _blocks(draw: st.DrawFn) -> tuple[Block, ...]:
    heights = st.integers(1, 70)
    blocks = []
    for number in range(draw(st.integers(1, 6))):
        heading = tuple(f"heading {number} line {line}" for line in range(draw(st.integers(1, 12))))
        rows = range(draw(st.integers(0, 30)))
        blocks.append(Block(heading, tuple(_row(number, row, draw(st.just(1) | heights)) for row in rows)))
    return tuple(blocks)


def _row(block: int, number: int, height: int) -> tuple[str, ...]:
    return tuple(f"block {block} row {number} line {line}" for line in range(height))


@given(_blocks())
def test_every_line_stands_once_and_every_page_by_itself(blocks: tuple[Block, ...]) -> None:
    """Each page has the head with digest and number; every row is there once, in order, and whole where it fits."""
    text = paged(PLAN, "TITLE", "columns", blocks)
    pages = pages_of(text)
    bodies = [page[4:] for page in pages]
    for number, page in enumerate(pages, start=1):
        assert page[0].startswith("TITLE")
        assert page[0].endswith(f"page {number} of {len(pages)}")
        assert page[1].endswith(f"plan {PLAN.digest}")
        assert page[2] == "columns"
        assert len(page) == LINES or number == len(pages)
    said = [line for body in bodies for line in body if line.startswith("block")]
    assert said == [line for block in blocks for row in block.rows for line in row]
    for block in blocks:
        for row in block.rows:
            on = [number for number, body in enumerate(bodies) for line in body if line in row]
            assert len(set(on)) == 1 or len(row) + len(block.heading) > LINES - 4


def test_a_heading_stays_with_its_first_row_and_is_said_again() -> None:
    """A heading never stands alone at the foot of a page; on the next page it is marked as continued."""
    rows = tuple((f"row {number}",) for number in range(80))
    text = paged(PLAN, "TITLE", "", (Block(tuple(f"line {n}" for n in range(53))), Block(("see", "read"), rows)))
    first, second, third = (page[4:] for page in pages_of(text))
    assert "see" not in first
    assert second[:3] == ["see", "read", "row 0"]
    assert third[:3] == ["see", f"read {CONTINUED}", "row 54"]


def test_no_line_is_wider_than_the_page_whatever_the_instrument_is_called() -> None:
    """A long or hostile name is cut and escaped in the head."""
    name = "オルガン\n\x1b[2J " * 12
    job = PLAN.job.model_copy(update={"instrument": PLAN.job.instrument.model_copy(update={"name": name})})
    head = paged(bench_plan(job), "T" * 200, "", (Block(("body",)),)).splitlines()
    assert all(line.isprintable() for line in head)
    assert re.search(r"… +page 1 of 1$", head[0])
    assert re.search(rf"オルガン.*… +plan {PLAN.digest}$", head[1])
    assert [cells_of(line) for line in head[:2]] == [WIDTH, WIDTH]

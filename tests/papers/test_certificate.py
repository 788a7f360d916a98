"""The test certificate: every point with its outcome, on pages and in CSV, with room to sign."""

from __future__ import annotations

from retrofit.papers.certificate import COLUMNS, Certificate, CertifiedPoint, certificate_csv, certificate_text
from retrofit.papers.csv_text import csv_records
from retrofit.papers.pages import LINES, WIDTH
from retrofit.papers.text_cells import cells_of
from tests.proving.plans import small_plan

HOSTILE = '=HYPERLINK("x")\x1b[2J\n*/ Ω 漢字'


def certificate(count: int = 3) -> Certificate:
    """Return a certificate of invented points."""
    points = tuple(
        CertifiedPoint(
            f"great.{n}", f"great {n}", "passed", 2, 1, 2.25, None if n % 2 else 2.09, HOSTILE if n == 1 else ""
        )
        for n in range(count)
    )
    return Certificate((("division", "great"),), points, (("soak, great", "30 minutes"),), ("a limit",))


def test_every_point_has_a_row_that_reads_back() -> None:
    """CSV holds each point with all columns; an unknown latency is an empty cell, never a number."""
    records = csv_records(certificate_csv(small_plan(), certificate()))
    assert [record["point"] for record in records] == ["great.0", "great.1", "great.2"]
    assert tuple(records[0]) == COLUMNS
    assert records[0]["latency at most ms"] == "2.1"
    assert records[1]["latency at most ms"] == ""
    assert records[1]["remark"] == HOSTILE


def test_a_formula_in_a_remark_is_guarded() -> None:
    """No cell of the file begins like a formula."""
    text = certificate_csv(small_plan(), certificate())
    assert ',"=HYPERLINK' not in text
    assert ",=HYPERLINK" not in text


def test_pages_are_whole_and_nothing_moves_the_cursor() -> None:
    """Title, digest, soak, limit and signature line stand on pages of fixed size, whatever a remark holds."""
    text = certificate_text(small_plan(), certificate(150))
    lines = text.splitlines()
    assert "\x1b" not in text
    assert max(map(cells_of, lines)) <= WIDTH
    assert len(lines) > 2 * LINES
    assert lines[0].startswith("Test certificate")
    for words in (small_plan().digest, "soak, great: 30 minutes", "a limit", "signature"):
        assert words in text
    assert all(lines[place].startswith("Test certificate") for place in range(0, len(lines), LINES))

"""The form of the lists."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from retrofit.papers.csv_text import csv_records, csv_text

cells = st.text(st.sampled_from("=+-@'\",;\n\r\t# é") | st.characters(categories=["L", "N", "P", "S", "Zs", "Cf"]))


@given(st.lists(st.tuples(cells, cells)))
def test_every_cell_comes_back(rows: list[tuple[str, str]]) -> None:
    """Whatever cells hold, reading the file gives them back by column name."""
    numbered = [(f"p{i}{first}", second) for i, (first, second) in enumerate(rows)]
    text = csv_text([("list", "=words")], ("point", "words"), numbered)
    assert [tuple(record.values()) for record in csv_records(text)] == numbered


@given(st.lists(st.tuples(cells, cells), max_size=5))
def test_every_record_has_the_same_number_of_cells(rows: list[tuple[str, str]]) -> None:
    """RFC 4180, section 2, rule 4: each line should contain the same number of fields; records end in CRLF (rule 1)."""
    text = csv_text([("job", "name")], ("a", "b", "c"), rows)
    records = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
    assert {len(record) for record in records} == {3}
    assert len(records) == len(rows) + 2
    assert text.endswith("\r\n")


def test_the_file_begins_with_a_byte_order_mark() -> None:
    """Encoded as UTF-8 the file begins with the three bytes of the mark (Unicode Standard, 23.8)."""
    assert csv_text([], ("a",), []).encode("utf-8").startswith(b"\xef\xbb\xbf")

"""CSV files that a person opens in a spreadsheet and a program reads without help.

RFC 4180: commas, double quotes, CRLF, and the same number of cells in every record.  The file begins with a byte order
mark, without which common spreadsheet programs take UTF-8 for a local 8-bit code (common practice, no source).
Records whose first cell begins with `#` say what the list is; the first other record holds the column names.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from retrofit.survey.spreadsheet import guard_cell, unguard_cell

BYTE_ORDER_MARK = "\ufeff"
REMARK_SIGN = "#"


def csv_text(remarks: Iterable[tuple[str, str]], columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return the text of the file: remarks (what, words), column names and rows, each cell guarded against formulas."""
    text = io.StringIO(newline="")
    text.write(BYTE_ORDER_MARK)
    writer = csv.writer(text, lineterminator="\r\n")
    for what, words in remarks:
        writer.writerow(_cells((f"{REMARK_SIGN} {what}", words), len(columns)))
    writer.writerow(_cells(columns, len(columns)))
    writer.writerows(_cells(row, len(columns)) for row in rows)
    return text.getvalue()


def csv_records(content: str) -> list[dict[str, str]]:
    """Return the rows of such a file as written, by column name, without the remarks."""
    rows = csv.reader(io.StringIO(content.removeprefix(BYTE_ORDER_MARK), newline=""))
    columns, *records = [[unguard_cell(cell) for cell in row] for row in rows if not row[0].startswith(REMARK_SIGN)]
    return [dict(zip(columns, record, strict=True)) for record in records]


def _cells(row: Sequence[str], width: int) -> list[str]:
    return [*map(guard_cell, row), *[""] * (width - len(row))]

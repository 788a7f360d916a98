"""Tables that may put three exclamation marks in a row into flash, which some boot loaders refuse (from memory).

What the compiler makes of the program cannot be known here.  The tables can be looked through as they are written:
their numbers stand in the order in which they lie in flash.  A number is taken for the fewest bytes that hold it, so
that a table may be suspected wrongly and is never cleared wrongly.
"""

from __future__ import annotations

import re

from retrofit.survey.packed_text import REFUSED_RUN

_TABLE = re.compile(r"^const [\w ]+? (\w+)\[\] TABLE_IN_FLASH = \{\n(.*?)^\};", re.MULTILINE | re.DOTALL)
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_NUMBER = re.compile(r"\b(?:0x[0-9A-F]+|[0-9]+)\b")


def tables_with_refused_run(table_text: str) -> tuple[str, ...]:
    """Return the names of the tables in the text of a table file whose bytes may hold such a run, in order."""
    return tuple(name for name, rows in _TABLE.findall(table_text) if REFUSED_RUN in _bytes(rows))


def _bytes(rows: str) -> bytes:
    numbers = (int(number, 0) for number in _NUMBER.findall(_COMMENT.sub("", rows)))
    return b"".join(number.to_bytes(max(1, (number.bit_length() + 7) // 8), "little") for number in numbers)

"""The generated C file: the rows of a table in the one template.

Nothing but numbers and text that was escaped for C can reach the file: the template engine refuses any other value.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template

from retrofit.firmware.escape import CText, c_comment, c_string, shorten
from retrofit.firmware.rows import Row, Table

TEMPLATE_NAME = "console_table.h.j2"
TABLE_FILE_NAME = "console_table.h"
_BYTES_ON_A_LINE = 16
_CODE = re.compile(r"[A-Za-z0-9_ ,]+")


def render_table(table: Table) -> str:
    """Return the text of `console_table.h`: the same table gives the same text."""
    return _template().render(table=table)


def environment() -> Environment:
    """Return the template engine with the filters for C, refusing text that did not pass through one of them."""
    engine = Environment(
        autoescape=False,  # noqa: S701 - C is written, not HTML; `finalize` admits only text escaped for C
        undefined=StrictUndefined,
        finalize=_only_c_text,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    engine.filters |= {
        "about": _about,
        "byte_lines": _byte_lines,
        "code": _code,
        "comment": c_comment,
        "filled": _filled,
        "hex": _hex,
        "short": shorten,
        "string_literal": c_string,
    }
    return engine


@cache
def _template() -> Template:
    text = files("firmware_templates").joinpath(TEMPLATE_NAME).read_text(encoding="utf-8")
    return environment().from_string(text)


def _only_c_text(value: object) -> object:
    if isinstance(value, CText | int):
        return value
    raise TypeError(f"the template writes {value!r} without escaping it for C")


def _about(row: Row) -> CText:
    """Return what a row's comment says: where it is, whom it serves, and what the user calls it."""
    name = f' "{c_comment(shorten(row.name))}"' if row.name else ""
    return CText(f"{c_comment(row.place)}: {c_comment(row.subject)}{name}")


def _code(text: str) -> CText:
    if not _CODE.fullmatch(text):
        raise TypeError(f"{text!r} is no plain C word")
    return CText(text)


def _hex(value: int) -> CText:
    return CText(f"0x{value:02X}")


def _byte_lines(content: bytes) -> list[CText]:
    """Return bytes as C initialisers without their brackets, a handful on each line."""
    lines = (content[start : start + _BYTES_ON_A_LINE] for start in range(0, len(content), _BYTES_ON_A_LINE))
    return [CText(", ".join(f"0x{byte:02X}" for byte in line)) for line in lines]


def _filled(values: tuple[int, ...], length: int, check: str) -> CText:
    """Return a C initialiser of `length` values, each inside the macro `check`, filled up with zeros."""
    inside = ", ".join(f"{check}({value})" for value in values + (0,) * (length - len(values)))
    return CText(f"{{{inside}}}")

"""A user's words in C comments and strings."""

from __future__ import annotations

import ctypes
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.firmware.escape import NAME_LENGTH_MAX, c_comment, c_string, read_back, shorten, visible
from tests.tools import require_tool

NASTY = [
    "*/ int x; /*",
    "/*/",
    "*/*/*",
    "// line \\",
    "??/",
    "??=define X",
    "a\nb\r\nc\0d\x07\x1b[2J",
    "\u202eright to left\u2066\u200f",
    'a "quoted" name\\',
    "{{ 7*7 }}{% raw %}",
    "\u00e91 \u00df\u00dftone 8'",
    "\U0001f600\ud800",
    "x" * 500,
    "",
]


@pytest.mark.parametrize("text", NASTY)
def test_a_comment_holds_neither_its_end_nor_another_beginning(text: str) -> None:
    """Whatever a point is called, the text between the comment signs contains no comment sign and no line end."""
    shown = c_comment(text)
    assert "*/" not in shown
    assert "/*" not in shown
    assert "??" not in shown
    assert shown.isprintable()


@given(st.text(st.characters(categories=["Cc", "Cf", "Zl", "Zp", "Zs", "Ll", "So", "Po"])))
def test_what_is_shown_reads_back_one_way(text: str) -> None:
    """Visible text keeps every character: undoing the escapes (Python's own \\u rules) gives the name back."""
    parts = visible(text).split("\\\\")
    decoded = "\\".join(part.encode("ascii", "backslashreplace").decode("unicode_escape") for part in parts)
    assert decoded == text


@pytest.mark.parametrize("mark", ["\u202e", "\u2066", "\u200f", "\u061c", "\u2028", "\ufeff", "\u00a0"])
def test_invisible_marks_are_shown_as_numbers(mark: str) -> None:
    """Direction marks (Unicode Standard Annex 9), line separators and odd blanks are written as their number."""
    assert visible(f"a{mark}b") == f"a\\u{ord(mark):04x}b"


def test_letters_beyond_ascii_stay_readable() -> None:
    """A comment is for people: letters of any script are shown as they are."""
    assert c_comment("Flûte 8′ Флейта") == "Flûte 8′ Флейта"


def test_a_long_name_is_cut_with_an_ellipsis() -> None:
    """A name longer than the limit is cut to it; one that just fits is not touched."""
    assert shorten("x" * NAME_LENGTH_MAX) == "x" * NAME_LENGTH_MAX
    assert shorten("x" * (NAME_LENGTH_MAX + 1)) == "x" * (NAME_LENGTH_MAX - 1) + "…"


@given(st.text("!a ", max_size=12))
def test_a_string_never_holds_three_exclamation_marks(text: str) -> None:
    """Runs of exclamation marks are broken, and nothing of the text is lost."""
    literal = c_string(text)
    assert "!!!" not in literal
    assert read_back(literal[1:-1].replace(r"\134", "\\")) == text


@given(st.text(st.characters() | st.sampled_from("\\uU0021d\u202e"), max_size=20))
def test_what_is_visible_is_read_back_exactly(text: str) -> None:
    """Numbers and doubled backslashes become the characters that they stand for, whatever the text was."""
    assert read_back(visible(text)) == text


def test_a_compiler_reads_every_string_back(tmp_path: Path) -> None:
    """gcc, with trigraphs as in ISO C99 5.2.1.1, stores the UTF-8 bytes of what is visible, and nothing else."""
    require_tool("gcc", "gcc")
    texts = [*NASTY, *(chr(code) + "7" for code in range(0x180))]
    rows = ",\n".join(c_string(text) for text in texts)
    source = tmp_path / "strings.c"
    source.write_text(f"const char *const strings[] = {{\n{rows}\n}};\n", encoding="ascii")
    library = tmp_path / "strings.so"
    subprocess.run(
        ["gcc", "-std=c99", "-Wall", "-Wextra", "-Werror", "-shared", "-fPIC", "-o", str(library), str(source)],
        check=True,
    )
    stored = (ctypes.c_char_p * len(texts)).in_dll(ctypes.CDLL(str(library)), "strings")
    assert [bytes(text or b"").decode() for text in stored] == [visible(text) for text in texts]

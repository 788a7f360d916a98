"""A user's own words inside C: in comments, where people read them, and in string literals, where machines do.

Letters, digits, punctuation and symbols of Unicode 3.2 are shown as they are, so that the same name gives the same
bytes under every Python.  Everything else (control characters, direction marks, later characters) is shown as its
number, so that what is read is what is compiled.
"""

from __future__ import annotations

import re
from unicodedata import ucd_3_2_0

NAME_LENGTH_MAX = 60
"""Characters of a name that are kept; a longer one is cut and ends in an ellipsis."""

_SHOWN_CATEGORIES = "LMNPS"
_QUESTION_RUN = re.compile(r"\?(?=\?)")
_BANG_RUN = "!!!"
_NUMBER = re.compile(r"\\(?:\\|u([0-9a-f]{4})|U(000[0-9a-f]{5}|0010[0-9a-f]{4}))")
_PLAIN_IN_STRING = frozenset(range(0x20, 0x7F)) - frozenset(b'"\\?')


class CText(str):
    """Text that may stand in a C file as it is."""

    __slots__ = ()


def visible(text: str) -> str:
    r"""Return `text` with unprintable characters as `\u202e`, the backslash doubled, so that it reads back one way."""
    return "".join(_visible_character(character) for character in text)


def _visible_character(character: str) -> str:
    if character == "\\":
        return r"\\"
    if character == " " or ucd_3_2_0.category(character)[0] in _SHOWN_CATEGORIES:
        return character
    number = ord(character)
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"


def read_back(words: str) -> str:
    """Return the text that `visible`, or a C string made by `c_string`, shows as `words`."""
    return _NUMBER.sub(lambda found: chr(int(found[1] or found[2], 16)) if found[1] or found[2] else "\\", words)


def shorten(text: str, length_max: int = NAME_LENGTH_MAX) -> str:
    """Return `text`, or its beginning and an ellipsis when it is longer than `length_max` characters."""
    return text if len(text) <= length_max else text[: length_max - 1] + "…"


def c_comment(text: str) -> CText:
    """Return `text` for the inside of a `/* */` comment: it cannot end the comment, nor seem to begin another.

    Two question marks are parted, because a trigraph (ISO C99 5.2.1.1) could hide the end of the line.
    """
    shown = visible(text).replace("*/", r"*\/").replace("/*", r"/\*")
    return CText(_QUESTION_RUN.sub(r"?\\", shown))


def c_string(text: str) -> CText:
    """Return `text` as a C string literal of its UTF-8 bytes, quotes included.

    Bytes that are not plain ASCII are octal escapes of three digits, which cannot swallow a digit that follows, as
    hexadecimal ones would (ISO C99 6.4.4.4).  A question mark is escaped, so that there are no trigraphs (5.2.1.1).
    Of three exclamation marks in a row the third is shown as its number: some boot loaders refuse an image that holds
    a run of them (from memory).
    """
    words = visible(text).replace(_BANG_RUN, r"!!\u0021")
    return CText('"' + "".join(map(_string_byte, words.encode())) + '"')


def _string_byte(byte: int) -> str:
    if byte in _PLAIN_IN_STRING:
        return chr(byte)
    return r"\?" if byte == ord("?") else f"\\{byte:03o}"

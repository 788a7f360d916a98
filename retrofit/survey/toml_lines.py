"""On which line each key of a TOML text stands.

The parser of the standard library gives values without lines, so the text is walked once more, only when there are
problems to report.  The text must already have been accepted by that parser: this walk trusts the syntax.
"""

from __future__ import annotations

import re
import tomllib

Path = tuple[str | int, ...]
"""A place in a document: keys of tables and, from 0, positions in lists."""

_BLANK = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")' r"|'''.*?'{3,5}(?!')" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}#\n]*")


def index_lines(text: str) -> dict[Path, int]:
    """Return the line, from 1, of every key, table and list member of a valid TOML document."""
    walk = _Walk(text.replace("\r\n", "\n"))
    walk.document()
    return walk.lines


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """Return the line of `path`, else of the innermost table or list around it, else None."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


class _Walk:
    """A walk over one text, from its start to its end."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.list_sizes: dict[Path, int] = {}

    def document(self) -> None:
        table: Path = ()
        self._skip(_BETWEEN)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BETWEEN)

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise ValueError(f"line {self.line} was not expected")
        self.line += match[0].count("\n")
        self.at = match.end()
        return match[0]

    def _take(self, mark: str) -> bool:
        """Step over `mark` if it comes next."""
        found = self.text.startswith(mark, self.at)
        self.at += len(mark) if found else 0
        return found

    def _note(self, path: Path, line: int) -> None:
        self.lines.setdefault(path, line)

    def _key(self) -> list[str]:
        """Read a dotted key."""
        parts = []
        while True:
            self._skip(_BLANK)
            raw = self._skip(_KEY)
            parts.append(next(iter(tomllib.loads(f"{raw} = 0"))))
            self._skip(_BLANK)
            if not self._take("."):
                return parts

    def _header(self) -> Path:
        line = self.line
        is_list = self._take("[[") or not self._take("[")
        *outer, last = self._key()
        self._take("]]" if is_list else "]")
        path: Path = ()
        for part in outer:
            path = self._entered((*path, part), line)
        path = (*path, last)
        if is_list:
            self._note(path, line)
            self.list_sizes[path] = self.list_sizes.get(path, 0) + 1
        return self._entered(path, line)

    def _entered(self, path: Path, line: int) -> Path:
        """Return where `path` leads: for a list of tables, into its newest member."""
        self._note(path, line)
        if path not in self.list_sizes:
            return path
        member = (*path, self.list_sizes[path] - 1)
        self._note(member, line)
        return member

    def _pair(self, table: Path) -> None:
        line = self.line
        path = table
        for part in self._key():
            path = (*path, part)
            self._note(path, line)
        self._take("=")
        self._skip(_BLANK)
        self._value(path)

    def _value(self, path: Path) -> None:
        if self._take("["):
            self._array(path)
        elif self._take("{"):
            self._inline_table(path)
        elif self.text[self.at] in "\"'":
            self._skip(_STRING)
        else:
            self._skip(_SCALAR)

    def _array(self, path: Path) -> None:
        position = 0
        self._skip(_BETWEEN)
        while not self._take("]"):
            self._note((*path, position), self.line)
            self._value((*path, position))
            position += 1
            self._skip(_BETWEEN)
            self._take(",")
            self._skip(_BETWEEN)

    def _inline_table(self, path: Path) -> None:
        self._skip(_BETWEEN)
        while not self._take("}"):
            self._pair(path)
            self._skip(_BETWEEN)
            self._take(",")
            self._skip(_BETWEEN)

"""Writing a user's own words as TOML, so that they read back exactly and an editor shows what is there."""

from __future__ import annotations

_SHORT = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"}


def toml_string(text: str) -> str:
    """Return `text` as a TOML basic string; controls and direction marks become escapes."""
    return f'"{"".join(_escaped(character) for character in text)}"'


def _escaped(character: str) -> str:
    if character in _SHORT:
        return _SHORT[character]
    if character.isprintable():
        return character
    code = ord(character)
    return f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"

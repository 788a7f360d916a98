"""Text made small enough for a controller's program memory, and back.

The packed form is a key byte, then a zlib stream (RFC 1950) whose bytes are exclusive-ored with the key.  Some boot
loaders refuse an image that holds three exclamation marks in a row (from memory): the key is the lowest that leaves no
such run, neither inside nor together with a neighbour's bytes at either end.

Level, method, window, memory level and strategy are pinned, so that one build of zlib always gives the same bytes;
another build may find a shorter or longer stream of the same text.  Nothing that names a plan depends on these bytes.
"""

from __future__ import annotations

import zlib

REFUSED_RUN = b"!!!"
TEXT_BYTES_MAX = 4 * 1024 * 1024
"""No longer text is unpacked, whatever the packed bytes promise."""

_LEVEL = 9
_MEMORY_LEVEL = 9


class PackingError(ValueError):
    """Text cannot be packed, or bytes are no packed text; the message says why."""


def pack_text(text: str) -> bytes:
    """Return the packed form of `text`.  Raises `PackingError` when no key will do, which chance all but excludes."""
    squeezer = zlib.compressobj(_LEVEL, zlib.DEFLATED, zlib.MAX_WBITS, _MEMORY_LEVEL, zlib.Z_DEFAULT_STRATEGY)
    return keyed(squeezer.compress(text.encode("utf-8")) + squeezer.flush())


def keyed(content: bytes) -> bytes:
    """Return `content` behind the lowest key under which it holds no refused run, its ends counted with neighbours."""
    mark = REFUSED_RUN[0]
    for key in range(256):
        packed = bytes((key, *(byte ^ key for byte in content)))
        if REFUSED_RUN not in packed and mark not in (packed[0], packed[-1]):
            return packed
    raise PackingError("no key leaves it without three exclamation marks in a row; change a word and build again")


def unpack_text(packed: bytes) -> str:
    """Return the text of its packed form.  Raises `PackingError` when it is cut short, damaged, or far too long."""
    if not packed:
        raise PackingError("it is empty")
    plain = bytes(byte ^ packed[0] for byte in packed[1:])
    opener = zlib.decompressobj()
    try:
        text = opener.decompress(plain, TEXT_BYTES_MAX)
    except zlib.error as error:
        raise PackingError(f"it is damaged ({error})") from error
    if opener.unconsumed_tail:
        raise PackingError(f"it unpacks to more than {TEXT_BYTES_MAX} bytes")
    if not opener.eof or opener.unused_data:
        raise PackingError("it is cut short" if not opener.eof else "something follows its end")
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError as error:
        raise PackingError("its text is not UTF-8") from error

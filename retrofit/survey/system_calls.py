"""The calls to the operating system that saving a file needs, one method each, so that a test can interrupt any."""

from __future__ import annotations

import os
from pathlib import Path

_BINARY = getattr(os, "O_BINARY", 0)
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


class SystemCalls:
    """The real operating system."""

    def resolve(self, path: Path) -> Path:
        """Return the absolute path of the file itself, with symbolic links followed."""
        return Path(os.path.realpath(path))

    def exists(self, path: Path) -> bool:
        """Return whether there is anything at `path`."""
        return os.path.lexists(path)

    def mode(self, path: Path) -> int:
        """Return the permission bits of the file."""
        return path.stat().st_mode & 0o7777

    def change_mode(self, path: Path, mode: int) -> None:
        """Set the permission bits of the file."""
        path.chmod(mode)

    def open_to_read(self, path: Path) -> int:
        """Open an existing file."""
        return os.open(path, os.O_RDONLY | _BINARY)

    def open_to_write(self, path: Path) -> int:
        """Create a file, or empty one left over from an interrupted save."""
        return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY | _NO_LINK, 0o666)

    def read(self, handle: int) -> bytes:
        """Return the next bytes of an open file, none at its end."""
        return os.read(handle, 1 << 20)

    def write(self, handle: int, content: bytes) -> int:
        """Write as much of `content` as the system takes and return how many bytes that was."""
        return os.write(handle, content)

    def sync(self, handle: int) -> None:
        """Wait until what was written is on the disk."""
        os.fsync(handle)

    def close(self, handle: int) -> None:
        """Close an open file."""
        os.close(handle)

    def rename(self, old: Path, new: Path) -> None:
        """Give a file another name, replacing what has it."""
        old.replace(new)

    def remove(self, path: Path) -> None:
        """Remove a file."""
        path.unlink()

    def sync_folder(self, path: Path) -> None:
        """Wait until the names in a folder are on the disk, where the system knows how."""
        if os.name == "nt":
            return
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

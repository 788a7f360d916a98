"""What a user can do when the operating system refuses a file."""

from __future__ import annotations

import errno

_PERMISSION = "see who may read and write the file and its folder, or name another place"
_FULL = "make room on that disk, or name another place"
_REMEDIES = {
    errno.EACCES: _PERMISSION,
    errno.EPERM: _PERMISSION,
    errno.EROFS: "that disk can only be read: name another place",
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EISDIR: "name the file itself, not its folder",
    errno.ENOTDIR: "name a place below a folder, not below a file",
    errno.ENAMETOOLONG: "choose a shorter name",
}


def remedy_for(error: BaseException) -> str:
    """Return what to do about a refusal of the operating system, nothing where there is no general advice."""
    return _REMEDIES.get(error.errno or 0, "") if isinstance(error, OSError) else ""

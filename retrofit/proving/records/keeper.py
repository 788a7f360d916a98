"""Keeps the entries of a run that is going on, safe once a second."""

from __future__ import annotations

from collections.abc import Callable

from retrofit.proving.records.errors import RecordError
from retrofit.proving.records.store import RecordFile
from retrofit.proving.runs.entries import Entry

SAVED_EVERY_US = 500_000
"""Half of the second that a sudden end may cost at most; the other half is for the disk."""


class RunKeeper:
    """Holds entries until they are written.  A disk that refuses is told once, and tried again and again."""

    def __init__(self, file: RecordFile, run: int, now_us: Callable[[], int], tell: Callable[[str], None]) -> None:
        self._file = file
        self._run = run
        self._now_us = now_us
        self._tell = tell
        self._held: list[Entry] = []
        self._saved_us = now_us()
        self._refused = False

    @property
    def held(self) -> int:
        """How many entries are not written yet."""
        return len(self._held)

    def keep(self, entry: Entry) -> None:
        """Hold an entry until it is written."""
        self._held.append(entry)

    def save(self) -> None:
        """Write what is held, when it is time."""
        if self._now_us() - self._saved_us >= SAVED_EVERY_US:
            self.write()

    def write(self) -> bool:
        """Write what is held now; return whether all of it is safe."""
        self._saved_us = self._now_us()
        if not self._held:
            return True
        try:
            self._file.add_entries(self._run, self._held)
        except RecordError as error:
            if not self._refused:
                self._tell(f"{error}; the run goes on, and writing is tried again")
            self._refused = True
            return False
        self._held.clear()
        if self._refused:
            self._tell("the record is written again; nothing was lost")
        self._refused = False
        return True

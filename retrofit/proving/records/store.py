"""The file of records: an SQLite database beside the job.

A transaction is complete or absent, whenever the program or the machine stops (full synchronisation, rollback journal:
the SQLite documentation, "Atomic Commit In SQLite").  Entries are held until the transaction that holds them has
succeeded, so that a full disk loses nothing while the program runs.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from retrofit.proving.records.errors import RecordError, RecordFullError
from retrofit.proving.records.rows import Kind, PointRow, ReadingRow, RemarkRow, RunHead, RunRow, State
from retrofit.proving.records.tables import APPLICATION, FORMAT, TABLES
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.survey.problems import printable

BUSY_S = 5.0
"""So long another program that writes is waited for."""


def records_path(job: Path) -> Path:
    """Return where the records of a job are."""
    return job.with_name(f"{job.stem}.proving.sqlite3")


class RecordFile:
    """The records of one instrument.  Entering opens the file, and makes it where there is none.

    Raises `RecordError` for a file that is no record, is damaged, or belongs to another instrument.
    """

    def __init__(self, path: Path, instrument: str, create: bool = True) -> None:
        self.path = path
        self._instrument = instrument
        self._create = create
        self._database: sqlite3.Connection | None = None

    def __enter__(self) -> Self:
        """Open the file."""
        if not self._create and not self.path.exists():
            raise RecordError(f"{self._shown}: there are no records yet; `retrofit prove` makes them")
        with self._named():
            self._database = sqlite3.connect(self.path, timeout=BUSY_S, isolation_level=None)
        try:
            self._prepare()
        except RecordError:
            self._close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file."""
        self._close()

    def _close(self) -> None:
        if self._database is not None:
            self._database.close()
            self._database = None

    @property
    def _shown(self) -> str:
        return printable(str(self.path))

    @property
    def database(self) -> sqlite3.Connection:
        """The open database."""
        if self._database is None:
            raise RecordError(f"{self._shown}: the file is not open")
        return self._database

    def _prepare(self) -> None:
        with self._named():
            self._all("PRAGMA synchronous = FULL")
            kind = self._one("PRAGMA application_id")
            is_new = kind == 0 and not self._all("SELECT 1 FROM sqlite_master LIMIT 1")
            if is_new:
                self._lay_out()
            elif kind != APPLICATION:
                raise RecordError(f"{self._shown}: this database holds no records of ours; name another file")
        self._check_format()
        self._check_whole()
        self._check_instrument()

    def _lay_out(self) -> None:
        with self._transaction():
            for table in TABLES:
                self.database.execute(table)
            self.database.execute("INSERT INTO about VALUES ('instrument', ?)", (self._instrument,))
            self.database.execute(f"PRAGMA application_id = {APPLICATION}")
            self.database.execute(f"PRAGMA user_version = {FORMAT}")

    def _check_format(self) -> None:
        with self._named():
            found = self._one("PRAGMA user_version")
        if found != FORMAT:
            raise RecordError(
                f"{self._shown}: records of format {found} found, {FORMAT} allowed; use the program's newer version"
            )

    def _check_whole(self) -> None:
        with self._named():
            said = self._one("PRAGMA quick_check(1)")
        if said != "ok":
            raise RecordError(f"{self._shown}: the file is damaged ({printable(str(said))}); {_FROM_A_COPY}")

    def _check_instrument(self) -> None:
        with self._named():
            found = self._one("SELECT value FROM about WHERE name = 'instrument'")
        if found != self._instrument:
            raise RecordError(
                f"{self._shown}: records of {printable(repr(found))} found, {printable(repr(self._instrument))} is the "
                "instrument of this job; name another file by --records, or move this one away"
            )

    @contextmanager
    def _named(self) -> Iterator[None]:
        """Turn what the database says into words for a user."""
        try:
            yield
        except sqlite3.Error as error:
            raise self._in_words(error) from error

    def _in_words(self, error: sqlite3.Error) -> RecordError:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        words = printable(str(error))
        match code:
            case sqlite3.SQLITE_FULL | sqlite3.SQLITE_IOERR:
                return RecordFullError(
                    f"{self._shown}: not written, {words}; make room on that disk, nothing is lost while this runs"
                )
            case sqlite3.SQLITE_NOTADB | sqlite3.SQLITE_CORRUPT:
                return RecordError(f"{self._shown}: the file is damaged or no record ({words}); {_FROM_A_COPY}")
            case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
                return RecordError(f"{self._shown}: another program is writing to it; wait for it, or end it")
            case _:
                return RecordError(f"{self._shown}: {words}; see who may read and write the file and its folder")

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        with self._named():
            self.database.execute("BEGIN IMMEDIATE")
            try:
                yield
                self.database.execute("COMMIT")
            except BaseException:
                if self.database.in_transaction:
                    self.database.execute("ROLLBACK")
                raise

    def _all(self, question: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        return self.database.execute(question, values).fetchall()

    def _one(self, question: str, values: Sequence[Any] = ()) -> Any:
        rows = self._all(question, values)
        return rows[0][0] if rows else None

    def begin_run(self, head: RunHead) -> int:
        """Begin a run; return its number."""
        with self._transaction():
            cursor = self.database.execute(
                "INSERT INTO runs (division, digest, kind, port, who, began, course, state) VALUES (?,?,?,?,?,?,?,?)",
                (head.division, head.digest, head.kind, head.port, head.who, head.began, head.course, State.OPEN),
            )
        return int(cursor.lastrowid or 0)

    def add_entries(self, run: int, entries: Iterable[Entry]) -> None:
        """Add entries to a run, all or none.  Raises `RecordFullError` when there is no room."""
        rows = [(run, entry.kind, entry.time_us, entry.data) for entry in entries]
        with self._transaction():
            self.database.executemany("INSERT INTO entries (run, kind, time_us, data) VALUES (?,?,?,?)", rows)

    def end_run(
        self, run: int, state: State, ended: str, points: Iterable[PointRow], remarks: Iterable[RemarkRow]
    ) -> None:
        """Write how a run came out, in place of what was written when it was stopped before."""
        with self._transaction():
            self.database.execute("UPDATE runs SET state = ?, ended = ? WHERE number = ?", (state, ended, run))
            self.database.execute("DELETE FROM points WHERE run = ?", (run,))
            self.database.execute("DELETE FROM remarks WHERE run = ?", (run,))
            self.database.executemany(
                "INSERT INTO points VALUES (?,?,?,?,?,?,?,?,?,?)", [_values(run, p) for p in points]
            )
            self.database.executemany("INSERT INTO remarks VALUES (?,?,?,?)", [_values(run, r) for r in remarks])

    def add_reading(self, run: int, reading: ReadingRow) -> None:
        """Add a reading to a run; the same one taken again replaces it."""
        with self._transaction():
            self.database.execute("INSERT OR REPLACE INTO readings VALUES (?,?,?,?,?,?)", _values(run, reading))

    def runs(self) -> tuple[RunRow, ...]:
        """Return all runs, oldest first."""
        with self._named():
            rows = self._all(
                "SELECT number, division, digest, kind, port, who, began, course, state, ended FROM runs "
                "ORDER BY number"
            )
        return tuple(_run_row(row) for row in rows)

    def entries(self, run: int) -> tuple[Entry, ...]:
        """Return the entries of a run in their order."""
        with self._named():
            rows = self._all("SELECT kind, time_us, data FROM entries WHERE run = ? ORDER BY place", (run,))
        return tuple(Entry(EntryKind(kind), time_us, bytes(data)) for kind, time_us, data in rows)

    def points(self, run: int) -> tuple[PointRow, ...]:
        """Return how the points of a run came out, in their order."""
        with self._named():
            rows = self._all("SELECT * FROM points WHERE run = ? ORDER BY rowid", (run,))
        return tuple(PointRow(*row[1:]) for row in rows)

    def remarks(self, run: int) -> tuple[RemarkRow, ...]:
        """Return what else a run came to."""
        with self._named():
            rows = self._all("SELECT * FROM remarks WHERE run = ? ORDER BY rowid", (run,))
        return tuple(RemarkRow(*row[1:]) for row in rows)

    def readings(self, run: int) -> tuple[ReadingRow, ...]:
        """Return the readings of a run."""
        with self._named():
            rows = self._all("SELECT * FROM readings WHERE run = ? ORDER BY rowid", (run,))
        return tuple(ReadingRow(*row[1:]) for row in rows)


_FROM_A_COPY = "put a copy of it back, or move it away; the job file does not need it"


def _run_row(row: tuple[Any, ...]) -> RunRow:
    number, division, digest, kind, port, who, began, course, state, ended = row
    return RunRow(number, RunHead(division, digest, Kind(kind), port, who, began, course), State(state), ended)


def _values(run: int, row: PointRow | RemarkRow | ReadingRow) -> tuple[Any, ...]:
    return (run, *(getattr(row, name) for name in type(row).__dataclass_fields__))

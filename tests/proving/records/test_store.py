"""The file of records: what goes in comes out, other files are refused, kills and full disks lose nothing."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.proving.records.errors import RecordError, RecordFullError
from retrofit.proving.records.keeper import SAVED_EVERY_US, RunKeeper
from retrofit.proving.records.rows import ReadingRow, RemarkRow, State
from retrofit.proving.records.store import RecordFile, records_path
from retrofit.proving.runs.entries import Entry, EntryKind
from tests.cli.conftest import ROOT
from tests.proving.records.rows import HEAD, INSTRUMENT, point

SAMPLE = [
    Entry(EntryKind.BEGIN, 0),
    Entry(EntryKind.MIDI, 7, b"\x90\x40\x40"),
    Entry(EntryKind.WORDS, 9, "größer".encode()),
]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where the records of a job would be."""
    return records_path(tmp_path / "job.toml")


def test_what_was_kept_is_read_back(path: Path) -> None:
    """Head, entries, points, remarks and readings come back as they were, from a file opened anew."""
    points, remarks = (point("great.36", 3, 9000), point("great.37")), (RemarkRow("finding", "great", "words \x00"),)
    reading = ReadingRow("supply", "rail", "before", 12.02, "V")
    with RecordFile(path, INSTRUMENT) as file:
        number = file.begin_run(HEAD)
        file.add_entries(number, SAMPLE)
        file.end_run(number, State.STOPPED, "", (), ())
        file.end_run(number, State.FINISHED, "later", points, remarks)
        file.add_reading(number, reading)
        file.add_reading(number, reading)
    with RecordFile(path, INSTRUMENT, create=False) as file:
        (row,) = file.runs()
        assert (row.number, row.head, row.state, row.ended) == (1, HEAD, State.FINISHED, "later")
        assert file.entries(1) == tuple(SAMPLE)
        assert (file.points(1), file.remarks(1), file.readings(1)) == (points, remarks, (reading,))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(EntryKind), st.integers(0, 2**53), st.binary(max_size=40)), max_size=30))
def test_any_entries_come_back_in_order(
    tmp_path_factory: pytest.TempPathFactory, entries: list[tuple[EntryKind, int, bytes]]
) -> None:
    """Whatever bytes, in the order in which they were kept."""
    wanted = tuple(Entry(*entry) for entry in entries)
    with RecordFile(tmp_path_factory.mktemp("records") / "r.sqlite3", INSTRUMENT) as file:
        file.add_entries(file.begin_run(HEAD), wanted)
        assert file.entries(1) == wanted


def test_no_records_yet_is_said(path: Path) -> None:
    """Looking makes no file."""
    with pytest.raises(RecordError, match="there are no records yet"), RecordFile(path, INSTRUMENT, create=False):
        pass
    assert not path.exists()


def test_records_of_another_instrument_are_refused(path: Path) -> None:
    """Both names are said; nothing is changed."""
    with RecordFile(path, "Another one"):
        pass
    before = path.read_bytes()
    with (
        pytest.raises(RecordError, match="'Another one' found, 'Invented for tests' is the instrument"),
        RecordFile(path, INSTRUMENT),
    ):
        pass
    assert path.read_bytes() == before


def test_a_database_of_something_else_is_refused(path: Path) -> None:
    """Somebody else's database is left as it is."""
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE songs (name TEXT)")
    before = path.read_bytes()
    with pytest.raises(RecordError, match="holds no records of ours"), RecordFile(path, INSTRUMENT):
        pass
    assert path.read_bytes() == before


def test_records_of_a_later_format_are_refused(path: Path) -> None:
    """The number found and the number allowed are said."""
    with RecordFile(path, INSTRUMENT) as file:
        file.database.execute("PRAGMA user_version = 9")
    with pytest.raises(RecordError, match="format 9 found, 1 allowed"), RecordFile(path, INSTRUMENT):
        pass


def _filled(path: Path) -> bytes:
    with RecordFile(path, INSTRUMENT) as file:
        file.add_entries(file.begin_run(HEAD), SAMPLE * 2000)
    return path.read_bytes()


@pytest.mark.parametrize("part", [0.02, 0.3, 0.6, 0.97])
def test_a_truncated_file_is_named_and_left_alone(path: Path, part: float) -> None:
    """Cut anywhere, it is said to be damaged, and stays as it is for whoever wants to save the rest."""
    content = _filled(path)
    cut = content[: int(len(content) * part)]
    path.write_bytes(cut)
    with pytest.raises(RecordError, match="damaged"), RecordFile(path, INSTRUMENT):
        pass
    assert path.read_bytes() == cut


def test_a_file_that_is_damaged_in_its_middle_is_named(path: Path) -> None:
    """A page of noise among the entries is found at opening, not when the entries are wanted."""
    content = bytearray(_filled(path))
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 4096] = bytes(place * 37 % 251 for place in range(4096))
    path.write_bytes(content)
    with pytest.raises(RecordError, match="damaged"), RecordFile(path, INSTRUMENT):
        pass


def test_noise_is_no_record(path: Path) -> None:
    """A file of noise is named, and left alone."""
    noise = bytes(place * 37 % 251 for place in range(5000))
    path.write_bytes(noise)
    with pytest.raises(RecordError, match="damaged or no record"), RecordFile(path, INSTRUMENT):
        pass
    assert path.read_bytes() == noise


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """A place that is none ends in words."""
    with pytest.raises(RecordError, match="unable to open"), RecordFile(tmp_path / "none" / "r.sqlite3", INSTRUMENT):
        pass


def test_another_writer_is_named(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two programs at once: the second waits a while and then says so."""
    monkeypatch.setattr("retrofit.proving.records.store.BUSY_S", 0.05)
    with RecordFile(path, INSTRUMENT) as first, RecordFile(path, INSTRUMENT) as second:
        first.database.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordError, match="another program is writing"):
            second.begin_run(HEAD)


def test_a_full_disk_loses_nothing(path: Path) -> None:
    """SQLite's own refusal for want of room: it is told once, all is held, and goes in when there is room."""
    told: list[str] = []
    time_us = [0]
    with RecordFile(path, INSTRUMENT) as file:
        number = file.begin_run(HEAD)
        keeper = RunKeeper(file, number, lambda: time_us[0], told.append)
        pages = file.database.execute("PRAGMA page_count").fetchone()[0]
        file.database.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RecordFullError, match="make room on that disk"):
            file.add_entries(number, SAMPLE * 5000)
        entries = [Entry(EntryKind.MIDI, place, b"\x90\x40\x40") for place in range(10_000)]
        for entry in entries:
            keeper.keep(entry)
        for _ in range(3):
            time_us[0] += SAVED_EVERY_US
            keeper.save()
        assert keeper.held == len(entries)
        assert len(told) == 1
        file.database.execute("PRAGMA max_page_count = 1000000")
        assert keeper.write()
        assert "nothing was lost" in told[1]
        assert file.entries(number) == tuple(entries)


def test_a_process_that_is_killed_loses_at_most_the_last_second(path: Path) -> None:
    """A real process, killed while it keeps entries: all but those of the last second are there, and in order."""
    command = [sys.executable, "-m", "tests.proving.records.rows", str(path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as child:
        assert child.stdout is not None
        first = int(child.stdout.readline())
        said = first
        while said - first < 2_500_000:
            said = int(child.stdout.readline())
        child.send_signal(signal.SIGKILL)
        said = max([said, *(int(line) for line in child.stdout.read().split("\n")[:-1])])
    with RecordFile(path, INSTRUMENT) as file:
        times = [entry.time_us for entry in file.entries(1)]
        assert file.runs()[0].state is State.OPEN
    assert times == sorted(times)
    assert times[0] == first
    assert said - times[-1] <= 1_000_000


def test_saving_waits_for_its_time(path: Path) -> None:
    """Not every message is a transaction: entries go in twice a second."""
    time_us = [0]
    with RecordFile(path, INSTRUMENT) as file:
        keeper = RunKeeper(file, file.begin_run(HEAD), lambda: time_us[0], lambda _: None)
        keeper.keep(SAMPLE[0])
        keeper.save()
        assert keeper.held == 1
        time_us[0] = SAVED_EVERY_US
        keeper.save()
        assert keeper.held == 0
        assert file.entries(1) == (SAMPLE[0],)

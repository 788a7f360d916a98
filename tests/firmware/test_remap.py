"""Remapped contacts: what they send, when they may change, and how the list outlasts a restart and a torn write."""

from __future__ import annotations

import binascii
import random
import struct
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.firmware.console import Console
from tests.firmware.linked import CRC_START, WORDS, LinkedConsole, build_linked, frame, sealed
from tests.firmware.table_text import chain_of_keys

NONE_8, NONE_16 = WORDS["LINK_NONE_8"], WORDS["LINK_NONE_16"]
ROWS = 4
RECORD = 2 + 8 + 1 + 4 * ROWS + 2
STORE = 1024
PLACES = STORE // RECORD
READING_TICKS = PLACES * (RECORD - 2) // 8
KEY, OTHER_KEY, STOP, STAGE, PISTON, UNUSED = 0, 9, 24, 32, 64, 23


@pytest.fixture
def linked(sample: Console) -> LinkedConsole:
    """The sample console past its start and silent."""
    sample.ports[0] = 0x0F
    sample.run(400)
    sample.take()
    return LinkedConsole(sample)


def put(linked: LinkedConsole, contact: int, plays: int) -> int:
    """Remap a contact; the row that it has then."""
    return linked.ask("REMAP_PUT", struct.pack("<HH", contact, plays))[0]


def put_refused(linked: LinkedConsole, contact: int, plays: int) -> str:
    """Why a contact may not be remapped."""
    return linked.refusal("REMAP_PUT", struct.pack("<HH", contact, plays))


def rows(linked: LinkedConsole) -> list[tuple[int, int]]:
    """The rows in use."""
    shown = [struct.unpack("<BBBHH", linked.ask("REMAP", bytes((row,)))) for row in range(ROWS)]
    used = shown[0][1]
    assert all((contact, plays) == (NONE_16, NONE_16) for *_, contact, plays in shown[used:])
    return [(contact, plays) for *_, contact, plays in shown[:used]]


def store_state(linked: LinkedConsole) -> str:
    """How the rows stand to what is kept."""
    number = linked.ask("REMAP", b"\x00")[2]
    names = ("EMPTY", "KEPT", "DIFFERS", "WRITING", "FAILED")
    return next(name for name in names if WORDS[f"LINK_STORE_{name}"] == number)


def keep(linked: LinkedConsole) -> None:
    """Keep the rows, and wait until they are written."""
    linked.ask("REMAP_KEEP")
    linked.console.run(20 * RECORD)


def restart(linked: LinkedConsole) -> None:
    """Begin anew, and wait until the whole store has been read, at 8 bytes a tick, and the rows are in force."""
    linked.console.reset()
    linked.console.run(STORE // 8 + PLACES + ROWS + 1)


def record(sequence: int, digest: bytes, pairs: list[tuple[int, int]], count: int | None = None) -> bytes:
    """A record as it lies in the store, written from its description."""
    content = struct.pack("<H8sB", sequence, digest, len(pairs) if count is None else count)
    content += b"".join(struct.pack("<HH", *pair) for pair in pairs)
    return sealed(content.ljust(RECORD - 2, b"\xff"))


def lay(linked: LinkedConsole, place: int, content: bytes) -> None:
    """Put bytes into the store at a place."""
    linked.store[place * RECORD : place * RECORD + len(content)] = list(content)


def test_a_remapped_key_sends_the_other_keys_notes(linked: LinkedConsole) -> None:
    """From the answer on, on and off are those of the other contact, which itself goes on as before."""
    console = linked.console
    assert put(linked, KEY, OTHER_KEY) == 0
    console.registers[0] = 0xFE
    console.run(30)
    console.registers[0] = 0xFF
    console.run(30)
    console.registers[1] = 0xFD
    console.run(30)
    assert console.messages() == [(0x90, 45, 100), (0x80, 45, 64), (0x90, 45, 100)]


def test_two_keys_can_change_places(linked: LinkedConsole) -> None:
    """A row names the message of the plan, not that of another row: swapped is swapped."""
    put(linked, KEY, OTHER_KEY)
    put(linked, OTHER_KEY, KEY)
    console = linked.console
    console.registers[0] = 0xFE
    console.run(30)
    console.registers[1] = 0xFD
    console.run(30)
    assert console.messages() == [(0x90, 45, 100), (0x90, 36, 100)]


def test_a_contact_that_plays_itself_leaves_the_list(linked: LinkedConsole) -> None:
    """The others stay, and the key sends its own note again."""
    put(linked, KEY, OTHER_KEY)
    put(linked, 1, 2)
    put(linked, 3, 4)
    assert put(linked, 1, 1) == NONE_8
    assert sorted(rows(linked)) == [(KEY, OTHER_KEY), (3, 4)]
    assert put(linked, 5, 5) == NONE_8
    linked.console.registers[0] = 0xFD
    linked.console.run(30)
    assert linked.console.messages() == [(0x90, 37, 100)]


def test_a_contact_has_one_row(linked: LinkedConsole) -> None:
    """Remapped again it plays the newer one; a list that is full takes no other contact."""
    assert [put(linked, contact, 8 + contact) for contact in (0, 1, 2, 3)] == [0, 1, 2, 3]
    assert put(linked, 2, 15) == 2
    assert rows(linked) == [(0, 8), (1, 9), (2, 15), (3, 11)]
    assert put_refused(linked, 4, 12) == "FULL"


@pytest.mark.parametrize(
    ("contact", "plays", "reason"),
    [
        (72, 0, "OUT_OF_RANGE"),
        (0, 72, "OUT_OF_RANGE"),
        (65535, 0, "OUT_OF_RANGE"),
        (KEY, STOP, "OTHER_DUTY"),
        (PISTON, KEY, "OTHER_DUTY"),
        (STAGE, STAGE + 1, "OTHER_DUTY"),
        (UNUSED, KEY, "OTHER_DUTY"),
    ],
)
def test_what_makes_no_sense_is_refused(linked: LinkedConsole, contact: int, plays: int, reason: str) -> None:
    """No such contact, another duty, a stage, a bit that is no contact: refused, and nothing changes."""
    assert put_refused(linked, contact, plays) == reason
    assert rows(linked) == []
    assert store_state(linked) == "EMPTY"


def test_a_contact_that_sends_nothing_is_no_model(tmp_path: Path) -> None:
    """A key may not play a contact for which the plan wrote no message: it would fall silent."""
    table = chain_of_keys(1, 8, LINK=1, REMAP_ROWS=1)
    silent = [((0, 0, 0), (0, 0, 0)) if number == 7 else message for number, message in enumerate(table.messages)]
    linked = build_linked(tmp_path, type(table)(**{**vars(table), "messages": silent}))
    assert put_refused(linked, 0, 7) == "OTHER_DUTY"
    assert put(linked, 7, 0) == 0


def test_a_sounding_key_is_not_remapped(linked: LinkedConsole) -> None:
    """Its note-off would be another key's: first it must be released."""
    console = linked.console
    console.registers[0] = 0xFE
    console.run(30)
    assert put_refused(linked, KEY, OTHER_KEY) == "NOT_AT_REST"
    console.registers[0] = 0xFF
    console.run(30)
    assert put(linked, KEY, OTHER_KEY) == 0
    console.registers[0] = 0xFE
    console.run(30)
    assert put_refused(linked, KEY, KEY) == "NOT_AT_REST"
    assert linked.refusal("REMAP_CLEAR") == "NOT_AT_REST"
    console.registers[0] = 0xFF
    console.run(30)
    linked.ask("REMAP_CLEAR")
    assert rows(linked) == []
    assert console.messages() == [(0x90, 36, 100), (0x80, 36, 64), (0x90, 45, 100), (0x80, 45, 64)]


def test_changes_that_wait_for_the_wire_are_sent_first(linked: LinkedConsole) -> None:
    """While the wire stands still with a note-off waiting, the list must stay as it is."""
    console = linked.console
    console.registers[0] = 0xFE
    console.run(30)
    console.hold_wire(True)
    console.registers[0] = console.registers[1] = 0x00
    console.run(30)
    console.registers[0] = console.registers[1] = 0xFF
    console.run(30)
    assert put_refused(linked, KEY, OTHER_KEY) == "BUSY"
    assert linked.refusal("REMAP_CLEAR") == "BUSY"
    console.hold_wire(False)
    console.run(2000)
    assert put(linked, KEY, OTHER_KEY) == 0


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_no_note_is_left_sounding(sample_library: Console, data: st.DataObject) -> None:
    """However keys and the list change, once all keys are off every note that was on has been turned off."""
    sample_library.switch_on()
    linked = LinkedConsole(sample_library)
    sample_library.run(200)
    sample_library.take()
    messages: list[tuple[int, ...]] = []
    for _ in range(data.draw(st.integers(1, 12))):
        sample_library.registers[0] = data.draw(st.integers(0xF0, 0xFF))
        sample_library.run(data.draw(st.integers(1, 12)))
        pair = struct.pack("<HH", data.draw(st.integers(0, 3)), data.draw(st.integers(0, 15)))
        linked.exchange(WORDS["LINK_REMAP_PUT"], pair)
        messages += sample_library.messages()
    sample_library.registers[0] = 0xFF
    sample_library.run(200)
    messages += sample_library.messages()
    sounding = {note: 0 for _, note, *_ in messages}
    for status, note, *_ in messages:
        sounding[note] += 1 if status == 0x90 else -1
    assert set(sounding.values()) <= {0}


def test_the_list_outlasts_a_restart_once_it_is_kept(linked: LinkedConsole) -> None:
    """Put alone is forgotten by a restart; kept, it is in force again."""
    put(linked, KEY, OTHER_KEY)
    assert store_state(linked) == "DIFFERS"
    restart(linked)
    assert rows(linked) == []
    assert store_state(linked) == "EMPTY"
    put(linked, KEY, OTHER_KEY)
    put(linked, STOP, STOP + 7)
    linked.ask("REMAP_KEEP")
    assert store_state(linked) == "WRITING"
    linked.console.run(20 * RECORD)
    assert store_state(linked) == "KEPT"
    restart(linked)
    assert rows(linked) == [(KEY, OTHER_KEY), (STOP, STOP + 7)]
    assert store_state(linked) == "KEPT"


def test_no_question_is_answered_before_the_store_has_been_read(linked: LinkedConsole) -> None:
    """Asked at once after a restart, the board answers once it has read a store full of what is no record."""
    linked.store[:] = [0] * STORE
    linked.console.reset()
    linked.give(frame(WORDS["LINK_REMAP"], b"\x00"))
    assert linked.bodies(READING_TICKS) == []
    assert [body.sequence for body in linked.bodies()] == [1]


def test_nothing_is_reported_before_the_store_has_been_read(linked: LinkedConsole) -> None:
    """Silence does not wait for a store without a place that can be passed; the stops do."""
    console = linked.console
    linked.store[:] = [0] * STORE
    console.reset()
    console.run(READING_TICKS)
    assert {message[1] for message in console.messages()} == {123}
    console.run(400)
    assert console.messages()


def test_an_empty_list_is_kept_too(linked: LinkedConsole) -> None:
    """Cleared and kept, nothing is remapped after a restart; cleared alone, the kept rows come back."""
    put(linked, KEY, OTHER_KEY)
    keep(linked)
    linked.ask("REMAP_CLEAR")
    restart(linked)
    assert rows(linked) == [(KEY, OTHER_KEY)]
    linked.ask("REMAP_CLEAR")
    keep(linked)
    restart(linked)
    assert rows(linked) == []
    assert store_state(linked) == "KEPT"


def test_the_record_lies_in_the_store_as_described(linked: LinkedConsole) -> None:
    """Sequence, digest, number, rows and the check of the standard library, byte for byte."""
    put(linked, KEY, OTHER_KEY)
    keep(linked)
    found = bytes(linked.store[:RECORD])
    assert found == record(1, b"none", [(KEY, OTHER_KEY)])
    assert struct.unpack("<H", found[-2:]) == (binascii.crc_hqx(found[:-2], CRC_START),)
    assert set(linked.store[RECORD:]) == {0xFF}
    assert linked.number("host_store_commits").value == 1


def test_nothing_is_written_that_is_kept_already(linked: LinkedConsole) -> None:
    """Keeping an empty list of an empty store, or the same list again, writes nothing."""
    writes = linked.number("host_store_writes")
    keep(linked)
    assert writes.value == 0
    put(linked, KEY, OTHER_KEY)
    keep(linked)
    written = writes.value
    assert 0 < written <= RECORD
    keep(linked)
    assert writes.value == written


def test_while_it_is_written_the_list_stays_as_it_is(linked: LinkedConsole) -> None:
    """Changes are refused until the writing is over, and so is another writing."""
    linked.number("host_store_polls").value = 20
    put(linked, KEY, OTHER_KEY)
    linked.ask("REMAP_KEEP")
    assert put_refused(linked, 1, 2) == "BUSY"
    assert linked.refusal("REMAP_CLEAR") == "BUSY"
    assert linked.refusal("REMAP_KEEP") == "BUSY"
    assert store_state(linked) == "WRITING"
    linked.console.run(30 * RECORD)
    assert put(linked, 1, 2) == 1


@pytest.mark.parametrize("torn", range(RECORD))
def test_a_torn_write_leaves_the_older_list(linked: LinkedConsole, torn: int) -> None:
    """Power fails after any byte of the second writing: after the restart the first list is in force."""
    put(linked, KEY, OTHER_KEY)
    keep(linked)
    put(linked, 1, 10)
    fails_after = linked.number("host_store_fails_after")
    fails_after.value = torn
    keep(linked)
    second = record(2, b"none", [(KEY, OTHER_KEY), (1, 10)])
    whole = torn >= sum(byte != 0xFF for byte in second)  # bytes that are right already are not written
    assert (bytes(linked.store[RECORD : 2 * RECORD]) == second) == whole
    fails_after.value = 0xFFFFFFFF
    restart(linked)
    assert rows(linked) == [(KEY, OTHER_KEY), *[(1, 10)] * whole]


def test_a_write_that_does_not_take_is_noticed(linked: LinkedConsole) -> None:
    """A worn store does not read back what was written: that is said, the rows go on, and the next place is tried."""
    put(linked, KEY, OTHER_KEY)
    fails_after = linked.number("host_store_fails_after")
    fails_after.value = 5
    keep(linked)
    assert store_state(linked) == "FAILED"
    assert rows(linked) == [(KEY, OTHER_KEY)]
    fails_after.value = 0xFFFFFFFF
    keep(linked)
    assert store_state(linked) == "KEPT"
    assert bytes(linked.store[RECORD : 2 * RECORD]) == record(2, b"none", [(KEY, OTHER_KEY)])


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_noise_in_the_store_means_nothing(sample_library: Console, seed: int) -> None:
    """A store full of random bytes keeps nothing, and the next list is kept in it all the same.

    A random record passes its check once in 65,536 times, and is of this job once in 2^64 of those.
    """
    sample_library.switch_on()
    linked = LinkedConsole(sample_library)
    linked.store[:] = list(random.Random(seed).randbytes(STORE))
    restart(linked)
    assert rows(linked) == []
    assert store_state(linked) == "EMPTY"
    put(linked, KEY, OTHER_KEY)
    keep(linked)
    restart(linked)
    assert rows(linked) == [(KEY, OTHER_KEY)]


def test_the_list_of_another_job_is_not_used_and_said(linked: LinkedConsole) -> None:
    """The newest record is of another digest: nothing is remapped, the board says so, and a new list takes over."""
    lay(linked, 0, record(1, b"none", [(KEY, OTHER_KEY)]))
    lay(linked, 1, record(2, b"other", [(KEY, 3)]))
    restart(linked)
    assert rows(linked) == []
    assert linked.ask("WHO")[2] & WORDS["LINK_FLAG_FOREIGN"]
    put(linked, 1, 10)
    keep(linked)
    assert not linked.ask("WHO")[2] & WORDS["LINK_FLAG_FOREIGN"]
    restart(linked)
    assert rows(linked) == [(1, 10)]


def test_a_row_that_cannot_be_is_left_out(linked: LinkedConsole) -> None:
    """A record with a right check but rows of no sense brings only those that make sense, each contact once."""
    lay(linked, 0, record(1, b"none", [(500, 0), (KEY, STOP), (1, 10), (1, 11)]))
    restart(linked)
    assert rows(linked) == [(1, 10)]
    lay(linked, 1, record(2, b"none", [(1, 10)] * 4, count=200))
    restart(linked)
    assert rows(linked) == []


@pytest.mark.parametrize(("older", "newer"), [(1, 2), (65535, 0), (65000, 10), (0, 32767)])
def test_the_newest_record_counts_also_when_numbers_come_round(linked: LinkedConsole, older: int, newer: int) -> None:
    """Of two records, in either order of places, the one that is less than half the way ahead is in force."""
    for places in ((0, 1), (1, 0), (PLACES - 1, 0)):
        linked.store[:] = [0xFF] * STORE
        lay(linked, places[0], record(older, b"none", [(1, 10)]))
        lay(linked, places[1], record(newer, b"none", [(2, 11)]))
        restart(linked)
        assert rows(linked) == [(2, 11)]


def test_wear_spreads_over_all_places(linked: LinkedConsole) -> None:
    """Three times as many writings as there are places wear no byte more than three times."""
    for turn in range(3 * PLACES):
        put(linked, KEY, 8 + turn % 2)
        linked.number("host_store_fails_after").value = 0xFFFFFFFF
        for _ in range(300):
            linked.core.remap_store_second()
        keep(linked)
        assert store_state(linked) == "KEPT"
    assert max(linked.wear) <= 3
    used = linked.wear[: PLACES * RECORD]
    assert min(used[place * RECORD] for place in range(PLACES)) >= 1
    assert set(linked.wear[PLACES * RECORD :]) == {0}


def test_the_store_is_spared(linked: LinkedConsole) -> None:
    """Twelve writings at once are allowed; then one each five minutes."""
    for turn in range(12):
        put(linked, KEY, 8 + turn % 2)
        keep(linked)
    put(linked, KEY, 8)
    assert linked.refusal("REMAP_KEEP") == "TOO_OFTEN"
    writes = linked.number("host_store_writes").value
    for _ in range(299 - linked.ask("WHO")[-4]):
        linked.core.remap_store_second()
    assert linked.refusal("REMAP_KEEP") == "TOO_OFTEN"
    assert linked.number("host_store_writes").value == writes
    for _ in range(2):
        linked.core.remap_store_second()
    keep(linked)
    assert store_state(linked) == "KEPT"
    put(linked, KEY, 9)
    assert linked.refusal("REMAP_KEEP") == "TOO_OFTEN"

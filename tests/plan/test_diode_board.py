"""Existing diode boards of a job: which readings count, what is recognised, and what the plan says of it."""

from __future__ import annotations

import pytest

from retrofit.plan.diode_board import DiodeBoard, NoDiodeBoardError, RowDrive, diode_board
from retrofit.scan.addresses import MatrixAddress
from retrofit.scan.matrix_faults.readings import ContradictionKind
from retrofit.survey.problems import JobFileError
from tests.plan.jobs import GREAT, HEAD, OURS, diode_readings, job_of, keys, plan_of, stops

Row = tuple[int, str, str, str]


def walk(count: int, run: int = 8) -> list[Row]:
    """Return sound readings, made up, of a regular board: columns a0, a1, ... and rows b0, b1, ..."""
    return [(36 + key, f"a{key % run}", f"b{key // run}", "0,56 V") for key in range(count)]


def board_of(rows: list[Row], count: int = 16, extra: str = "") -> DiodeBoard:
    """Return the board of a manual with these readings; `extra` ends its wiring."""
    return diode_board(job_of(HEAD + GREAT + keys(count) + OURS + extra + diode_readings(*rows)).groups[0])


def test_a_board_is_named_whole_from_its_fewest_readings() -> None:
    """One whole run and one key of each other run name 61 keys; no press is asked for any more."""
    asked: list[Row] = []
    while (press := board_of(asked, 61).board.next_press) is not None:
        asked.append(walk(61)[press.key - 36])
    found = board_of(asked, 61)
    assert found.board.complete
    assert len(asked) < 61
    assert len(found.unread) == 61 - len(asked)
    assert found.reuse.reasons == ()
    assert found.reuse.row_pins == tuple(f"b{row}" for row in range(8))
    assert found.reuse.contact_order == (*range(36, 97), -1, -1, -1)


def test_an_open_reading_is_no_contradiction() -> None:
    """OL the other way round is what a sound diode shows."""
    found = board_of([*walk(16), (36, "b0", "a0", "OL")])
    assert found.board.complete
    assert found.board.contradictions == ()


def test_a_later_reading_stands_for_the_earlier() -> None:
    """A key read by exchanged leads is accused, and acquitted once both ways are read again."""
    rows = walk(16)
    wrong = [*rows[:9], (45, "b1", "a1", "0,56 V"), *rows[10:]]
    assert [one.kind for one in board_of(wrong).board.contradictions] == [ContradictionKind.TURNED]
    assert 45 in board_of(wrong).unread
    again = board_of([*wrong, (45, "b1", "a1", "OL"), (45, "a1", "b1", "0,56 V")])
    assert again.board.contradictions == ()
    assert again.unread == ()


def test_the_date_decides_which_reading_is_later() -> None:
    """A reading of an earlier day changes nothing, wherever it stands in the file."""
    readings = diode_readings((36, "a", "x", "0,56 V"), (36, "a", "x", "OL"))
    late, early = readings.rsplit("2026-03-07", 1)
    text = HEAD + GREAT + keys(1) + OURS + late + "2026-03-06" + early
    assert set(diode_board(job_of(text).groups[0]).board.crossings) == {36}


def test_the_order_of_contacts_brings_each_key_to_its_crossing() -> None:
    """A matrix planned with the board's columns and order has every key where the board has it, empty places too."""
    rows = [(36 + key, f"a{(key + 2) // 5}", f"b{(key + 2) % 5}", "0,56 V") for key in range(23)]
    found = board_of(rows, 23)
    order = f"compass = {{ lowest = 36, count = 23, order = {list(found.reuse.contact_order)} }}"
    group = keys(23).replace("compass = { lowest = 36, count = 23 }", order)
    assert order in group
    wishes = '[groups.wanted]\ninterface = "matrix"\nmatrix_columns = 5\n'
    plan = plan_of(HEAD + GREAT + group + OURS + 'diodes = "silicon"\n' + wishes)
    planned = {point.point.note: point.address for point in plan.points}
    reuse = found.reuse
    assert planned == {
        key: MatrixAddress(1, reuse.row_pins.index(row), reuse.column_pins.index(column))
        for key, (row, column) in found.board.crossings.items()
    }


@pytest.mark.parametrize("words", ["wanders", "unknown"])
def test_a_reading_that_tells_nothing_is_not_counted(words: str) -> None:
    """A display that wanders and a reading not taken name no crossing and are handed back."""
    found = board_of([(36, "a", "x", words)])
    assert found.board.crossings == {}
    assert [test.key for test in found.not_counted] == [36]


@pytest.mark.parametrize(("volts", "accused"), [("0,02 V", [(36,)]), ("0,15 V", [])])
def test_less_than_a_diode_drops_is_accused(volts: str, accused: list[tuple[int, ...]]) -> None:
    """20 mV is a bridge; 150 mV may be germanium or Schottky."""
    found = board_of([(36, "a0", "b0", volts), *walk(16)[1:]])
    assert [one.keys for one in found.board.contradictions if one.kind is ContradictionKind.NO_DROP] == accused
    assert bool(found.reuse.reasons) is bool(accused)


def test_a_stray_space_makes_no_other_pin() -> None:
    """Words of pins are held against each other with single spaces."""
    found = board_of([(36, "pin  1", "x", "0,5"), (37, " pin 1 ", "y ", "0,5")], 2)
    assert found.board.columns == ("pin 1",)
    assert found.board.rows == ("x", "y")


@pytest.mark.parametrize(
    ("commons", "drive"),
    [
        (("b0", "b1"), RowDrive.FITS),
        (("a0", "a1"), RowDrive.TURNED),
        (("b0", "a1"), RowDrive.TURNED),
        (("bus",), RowDrive.UNKNOWN),
    ],
)
def test_whether_the_commons_can_be_our_rows(commons: tuple[str, ...], drive: RowDrive) -> None:
    """Commons named like pins are rows when current leaves by all of them; other names settle nothing."""
    names = ", ".join(f'{{ name = "{name}" }}' for name in commons)
    assert board_of(walk(16), extra=f"commons = [{names}]\n").drive is drive


def test_tabs_go_by_their_places() -> None:
    """Listed contacts are numbered from 1 and named."""
    text = HEAD + GREAT + stops('{ id = "oboe", name = "Oboe", footage = "8" }, { id = "b" }') + OURS
    found = diode_board(job_of(text + diode_readings((1, "a", "x", "0,5"), (2, "b", "x", "0,5"))).groups[0])
    assert found.names == {1: "Oboe 8", 2: "b"}
    assert found.board.crossings == {1: ("x", "a"), 2: ("x", "b")}


ROLLER = '[[groups]]\nid = "cres"\nkind = "roller"\ndivision = "great"\nstages = 4\n'
SHOES = """
[[groups]]
id = "shoes"
kind = "shoes"
division = "great"
points = [{ id = "swell", sensor = "potentiometer" }]
"""


def test_stages_of_a_roller_go_by_their_numbers() -> None:
    """A crescendo roller's stages may lie on a board."""
    found = diode_board(job_of(HEAD + GREAT + ROLLER).groups[0])
    assert found.board.keys == (1, 2, 3, 4)
    assert found.names[4] == "stage 4"


def test_shoes_have_no_board() -> None:
    """A group of shoes is refused in words, and a diode reading on it is a problem of the file."""
    with pytest.raises(NoDiodeBoardError, match="shoes has shoes alone"):
        diode_board(job_of(HEAD + GREAT + SHOES).groups[0])
    with pytest.raises(JobFileError, match="no diode readings on shoes"):
        job_of(HEAD + GREAT + SHOES + "[groups.wiring]\n" + diode_readings((1, "a", "x", "0,5")))


def test_a_group_too_large_for_a_board() -> None:
    """More contacts than a board has are refused with the remedy; 128 are not."""
    for count, fits in ((128, True), (129, False)):
        text = HEAD + GREAT + stops(", ".join(f'{{ id = "s{n}" }}' for n in range(count))) + "[groups.wiring]\n"
        text += diode_readings((1, "a", "x", "0,5"))
        if fits:
            assert job_of(text).groups[0].wiring.diode_readings
        else:
            with pytest.raises(JobFileError, match="129 contacts; allowed at most 128"):
                job_of(text)


def test_the_plan_says_why_a_whole_board_cannot_be_used() -> None:
    """Twelve columns are recognised, and are more than one of our matrices has."""
    text = HEAD + GREAT + keys(24) + OURS + diode_readings(*walk(24, 12))
    (said,) = [one for one in plan_of(text).findings if one.rule == "diode-board-recognised"]
    assert said.found == "24 keys on 2 rows and 12 columns"
    assert "12 columns: one of our matrices has 8" in said.allowed


def test_a_board_with_a_contradiction_is_not_called_recognised() -> None:
    """The warning stands alone, one for each accused key."""
    rows = [*walk(16), (40, "b0", "a4", "0,56 V")]
    findings = plan_of(HEAD + GREAT + keys(16) + OURS + diode_readings(*rows)).findings
    rules = [one.rule for one in findings if one.rule.startswith("diode-")]
    assert rules == ["diode-readings-contradict"]

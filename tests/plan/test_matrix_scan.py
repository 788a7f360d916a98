"""How the plan drives matrices: charging where it pays, driven rows where diodes allow them, and shared matrices."""

from __future__ import annotations

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.matrix_scan import PAYS_SHARE, MatrixScan, matrix_scans
from retrofit.survey.points import list_points
from retrofit.survey.wishes import MatrixDrive
from tests.plan.jobs import GREAT, HEAD, OURS, job_of, keys, plan_of

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]
COSTS = CATALOGUE.firmware_costs["atmega2560"]


def job_text(metres: str, wish: str = "", diodes: str = "schottky", count: int = 61) -> str:
    """Return a job with one keyboard on a matrix at the end of a cable."""
    wiring = OURS.replace("1,0 m", f"{metres} m") + f'diodes = "{diodes}"\n'
    return HEAD + GREAT + keys(count) + wiring + f'[groups.wanted]\ninterface = "matrix"\n{wish}'


def scan_of(text: str) -> MatrixScan:
    """Return how the one matrix of a job is read."""
    job = job_of(text)
    return matrix_scans(job, list_points(job), BOARD, CATALOGUE)["great"]


@pytest.mark.parametrize("metres", ["0,3", "1", "2", "4", "8", "15", "30"])
def test_charging_is_chosen_exactly_where_it_pays(metres: str) -> None:
    """It saves the stated share of the rows' time, or lets them fit into a shorter tick; else it is left out."""
    scan = scan_of(job_text(metres))
    plain, charged = (scan.rows_us(COSTS, BOARD.clock_hz, charged=charged) for charged in (False, True))
    ticks = [next(tick for tick in (125, 250, 500, 1000, 2000) if us <= tick / 2) for us in (plain, charged)]
    assert scan.charged == (charged <= (1 - PAYS_SHARE) * plain or ticks[1] < ticks[0])


def test_short_lines_are_left_to_their_pull_ups_and_long_ones_are_charged() -> None:
    """At 30 cm the wait is the least one anyway; at 15 m charging takes away most of it."""
    assert not scan_of(job_text("0,3")).charged
    long = scan_of(job_text("15"))
    assert long.charged
    assert long.precharge is not None
    assert long.precharge.row_us < 0.5 * long.plain.wait_us


@pytest.mark.parametrize(("wish", "charged"), [("true", True), ("false", False)])
def test_a_wish_for_charging_is_followed(wish: str, charged: bool) -> None:
    """Whether it pays or not."""
    for metres in ("0,3", "15"):
        assert scan_of(job_text(metres, f"matrix_precharge = {wish}\n")).charged is charged


def test_lines_of_the_organ_are_never_charged() -> None:
    """Charging drives a line, and a line that is not ours is looked at alone, whatever is wished."""
    text = job_text("15", "matrix_precharge = true\n").replace('owner = "us"', 'owner = "organ"')
    assert scan_of(text).offered is None
    assert not scan_of(text).charged


@pytest.mark.parametrize(
    ("diodes", "drive"),
    [("schottky", "push-pull"), ("silicon", "push-pull"), ("none", "floating"), ("unknown", "floating")],
)
def test_rows_are_driven_only_with_known_diodes(diodes: str, drive: str) -> None:
    """Without a diode at each key two held keys of a column would join two drivers: rows float, an error says so."""
    text = job_text("2", 'matrix_drive = "push-pull"\n', diodes)
    plan = plan_of(text)
    assert plan.layout.matrices[0].drive is MatrixDrive(drive)
    assert ("matrix-drive-refused" in {finding.rule for finding in plan.findings}) == (drive == "floating")


def test_driven_rows_get_their_resistors() -> None:
    """A resistor in each row keeps its pin whole; leaking diodes no longer pull a column down."""
    plan = plan_of(job_text("2", 'matrix_drive = "push-pull"\n'))
    chosen = plan.sensing[0].chosen
    assert chosen is not None
    assert [part.value for part in chosen.parts if part.role == "in each row at its pin"] == [130]
    pins = next(j.result for j in chosen.judged if "row's pin at the worst fault" in j.criterion)
    assert pins is not None
    assert pins.passes


def test_groups_share_a_matrix_only_when_both_are_driven_alike() -> None:
    """Two small keyboards of one drive lie on one matrix, those of different drives on two."""
    second = job_text("2", "", count=13).removeprefix(HEAD + GREAT).replace('id = "great"', 'id = "choir"', 1)
    alike = plan_of(job_text("2", "", count=13) + second)
    apart = plan_of(job_text("2", 'matrix_drive = "push-pull"\n', count=13) + second)
    assert [matrix.drive for matrix in alike.layout.matrices] == [MatrixDrive.FLOATING]
    assert {matrix.drive for matrix in apart.layout.matrices} == {MatrixDrive.FLOATING, MatrixDrive.PUSH_PULL}
    assert [finding.rule for finding in apart.errors] == []


def test_the_drive_changes_the_digest() -> None:
    """The board does something else, and its name says so."""
    assert plan_of(job_text("2")).digest != plan_of(job_text("2", 'matrix_drive = "push-pull"\n')).digest

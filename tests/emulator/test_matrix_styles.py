"""Matrices with driven rows and with charged columns, from the job file to the emulated board."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from retrofit.survey.load import parse_job
from retrofit.survey.wishes import MatrixDrive
from tests.emulator.demos import Console, Spoil, console
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything
from tests.emulator.quiet import quiet_scans, tick_times
from tests.plan.jobs import GREAT, HEAD, OURS, keys

pytestmark = pytest.mark.emulator

STYLES = {
    "floating": "matrix_precharge = false\n",
    "floating, charged": "",
    "driven": 'matrix_drive = "push-pull"\nmatrix_precharge = false\n',
    "driven, charged": 'matrix_drive = "push-pull"\n',
}
NO_CHARGE = Spoil("matrix.c", "    columns_charge(matrix);\n", "    (void)columns_charge;\n")
CHARGE_TOO_SOON = Spoil(
    "matrix.c",
    "    row_give_up(drive, port, mask);\n    columns_charge(matrix);\n",
    "    columns_charge(matrix);\n    row_give_up(drive, port, mask);\n",
)
NO_WAIT = Spoil("matrix.c", "    port_wait_us(flash_read_byte(&matrix->settle_us));\n", "")


@cache
def matrix(style: str, spoils: tuple[Spoil, ...] = (), cable: str = "8 m") -> Console:
    """Return a keyboard on a matrix with a long cable, read in one of the styles."""
    wiring = OURS.replace("1,0 m", cable) + 'diodes = "schottky"\n'
    wish = f'[groups.wanted]\ninterface = "matrix"\nsense = "pull-up"\n{STYLES[style]}'
    job = parse_job(HEAD + "[wanted]\npower_on_wait_s = 0.1\n" + GREAT + keys(61) + wiring + wish, "matrix.toml")
    return console(job, spoils)


@pytest.mark.parametrize("style", STYLES)
def test_every_key_is_heard_in_each_style(style: str) -> None:
    """Each key with bounce is heard once, in time, and no column is ever read between its levels."""
    played_on = matrix(style)
    seen, verdict = perform(played_on, play_everything(played_on, Random(3)))
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * 61
    assert seen.problems == {}


@pytest.mark.parametrize("style", STYLES)
def test_the_plan_has_the_style_and_its_busy_time(style: str) -> None:
    """The layout is read as wished, charged where it pays, and a quiet tick takes what the plan says within 5 %."""
    played_on = matrix(style)
    (layout,) = played_on.plan.layout.matrices
    assert (layout.drive is MatrixDrive.PUSH_PULL) == style.startswith("driven")
    assert (layout.precharge_us > 0) == style.endswith("charged")
    measured, predicted = tick_times(played_on.plan, quiet_scans(played_on))
    for runs, measured_us in measured.items():
        assert predicted[runs] == pytest.approx(measured_us, rel=0.05)


@pytest.mark.parametrize("style", ["floating, charged", "driven, charged"])
def test_the_worst_press_is_near_its_prediction(style: str) -> None:
    """Strokes on an idle wire: never later than predicted, and at least 80 % of it."""
    played_on = matrix(style)
    _, verdict = perform(played_on, clean_strokes(played_on, Random(2), last_points(played_on.plan), 150))
    assert verdict.sound, verdict.report()
    (group,) = played_on.plan.groups
    assert max(verdict.latencies["great"].press_us) >= 0.8 * group.press_latency_us_max


@pytest.mark.parametrize("style", ["floating, charged", "driven, charged"])
@pytest.mark.parametrize("spoil", [NO_CHARGE, NO_WAIT], ids=["no charging", "no wait"])
def test_broken_firmware_fails_the_proof(style: str, spoil: Spoil) -> None:
    """Without charging, or without the wait, columns are read before they have settled: keys are invented or lost."""
    sound, broken = matrix(style, cable="25 m"), matrix(style, (spoil,), "25 m")
    played = play_everything(sound, Random(3))
    assert perform(sound, played)[1].sound
    assert not perform(broken, played)[1].sound


def test_charging_while_a_row_is_low_is_reported() -> None:
    """Columns that are driven before the row is given up meet it through the held key."""
    broken = matrix("floating, charged", (CHARGE_TOO_SOON,))
    seen, _ = perform(broken, play_everything(broken, Random(3)))
    assert "matrix columns are driven while a row is low" in seen.problems

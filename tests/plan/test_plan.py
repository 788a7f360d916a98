"""The plan as a whole: deterministic, complete, quick, and named by its digest."""

from __future__ import annotations

from importlib.resources import files

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import parse_job
from retrofit.survey.points import PointKind
from tests.plan.jobs import GREAT, HEAD, OURS, SOUND, job_of, keys, plan_of

DEMOS = ("gutted_home", "theatre")


def _demo(name: str) -> ConversionPlan:
    text = files("retrofit.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return plan_conversion(parse_job(text, name), load_catalogue())


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_is_planned_without_errors(name: str) -> None:
    """Both demonstration consoles can be built as they stand."""
    assert _demo(name).errors == ()


@pytest.mark.parametrize("name", DEMOS)
def test_every_point_has_one_place_and_every_place_one_point(name: str) -> None:
    """No two lines share an address, and every contact that is read has one."""
    plan = _demo(name)
    placed = [p for p in plan.points if p.point.same_line_as is None and p.address is not None]
    assert len({p.address for p in placed}) == len(placed)
    contacts = [p for p in plan.points if p.point.kind is not PointKind.SHOE or p.point.id in plan.layout.converters]
    assert all(p.address is not None for p in contacts)


@pytest.mark.parametrize("name", DEMOS)
def test_planning_twice_gives_the_same_plan(name: str) -> None:
    """Same job, same plan, same digest."""
    assert _demo(name) == _demo(name)


def test_points_send_their_message_both_ways() -> None:
    """A key of division 1 sends note-on and, as velocity zero keeps running status, note-on with velocity zero."""
    messages = {p.point.id: p.message for p in plan_of(SOUND).points}
    lowest = messages["great.36"]
    assert lowest is not None
    assert (lowest.on, lowest.off) == (bytes.fromhex("902464"), bytes.fromhex("902400"))


def test_the_digest_follows_what_the_board_does_and_names() -> None:
    """A note, a channel or a name changes the digest; a remark, a condition and progress do not."""
    plain = plan_of(SOUND).digest
    changing = (
        SOUND.replace("lowest = 36", "lowest = 48"),
        SOUND.replace('id = "great"\n', 'id = "great"\nchannel = 3\n', 1),
        SOUND.replace("invented test console", "another console"),
    )
    silent = (
        SOUND.replace("}\n\n", "}\n" + 'points = [{ note = 36, condition = "dead" }]\n', 1),
        SOUND.replace('id = "great"\n', 'id = "great"\nprogress = "wired"\n', 1),
    )
    assert all(plan_of(text).digest != plain for text in changing)
    assert [plan_of(text).digest for text in silent] == [plain, plain]


def test_latency_holds_the_wire_and_the_sampling_period() -> None:
    """A press takes at least the 960 µs of three bytes at 31,250 baud (IEC 63035) and at most ten milliseconds."""
    for group in plan_of(SOUND).groups:
        assert 960 + group.period_us <= group.press_latency_us_max <= 10_000


def test_six_hundred_points_are_planned_within_a_tenth_of_a_second(benchmark: BenchmarkFixture) -> None:
    """A five-manual console is planned; the time is printed by the benchmark, not judged here."""
    manuals = "".join(keys(61).replace('id = "great"', f'id = "manual-{n}"', 1) + OURS for n in range(5))
    rail = "".join(f'{{ id = "s{n}" }}, ' for n in range(295))
    text = HEAD + GREAT + "".join(f'[[divisions]]\nid = "d{n}"\n' for n in range(5)) + manuals
    text += f'[[groups]]\nid = "rail"\nkind = "stops"\ndivision = "great"\npoints = [{rail}]\n' + OURS
    for n in range(5):
        text = text.replace(
            f'id = "manual-{n}"\nkind = "manual"\ndivision = "great"',
            f'id = "manual-{n}"\nkind = "manual"\ndivision = "d{n}"',
        )
    job = job_of(text)
    plan = benchmark(plan_conversion, job, load_catalogue())
    assert len(plan.points) == 600
    assert plan.errors == ()

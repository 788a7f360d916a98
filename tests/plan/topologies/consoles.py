"""Consoles for the comparison: one rail of any length, two groups, and random ones."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import strategies as st

import retrofit.demo
from retrofit.catalogue.load import load_catalogue
from retrofit.plan.topologies.compare import compare
from retrofit.plan.topologies.demand import Bench, Demand, demands
from retrofit.plan.topologies.model import Comparison, GroupComparison
from retrofit.survey.job import Job
from retrofit.survey.load import load_job
from retrofit.survey.points import list_points
from tests.plan.jobs import GREAT, HEAD, job_of, stops

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]


def wiring(owner: str = "us", metres: str = "1", diodes: str = "unknown", extra: str = "") -> str:
    """Return a wiring with everything read that a comparison asks for."""
    return (
        f'\n[groups.wiring]\nowner = "{owner}"\ncontact = "silver-leaf"\ncontact_resistance = "5"\n'
        f'cable_length = "{metres} m"\ndiodes = "{diodes}"\n{extra}\n'
    )


def rail(contacts: int, **kwargs: str) -> Job:
    """Return a console of one rail with so many contacts."""
    points = ", ".join(f'{{ id = "s{n}" }}' for n in range(contacts))
    return job_of(HEAD + GREAT + stops(points) + wiring(**kwargs))


def compared(job: Job, boards: int | None = None) -> Comparison:
    """Return the comparison of a job."""
    return compare(job, CATALOGUE, boards)


def only_group(job: Job) -> GroupComparison:
    """Return the comparison of a job's only group."""
    (group,) = compared(job).groups
    return group


def demand_of(job: Job) -> tuple[Demand, Bench]:
    """Return what the job's first group asks for, and the bench."""
    bench = Bench.of(job, BOARD, CATALOGUE)
    found, _ = demands(job, list_points(job), bench)
    return found[0], bench


def demo_job(name: str) -> Job:
    """Return a demo job."""
    return load_job(Path(retrofit.demo.__path__[0], f"{name}.toml"))


@st.composite
def _group(draw: st.DrawFn, number: int) -> dict[str, Any]:
    kind = draw(st.sampled_from(["manual", "stops", "pistons", "roller"]))
    count = draw(st.integers(2, 64))
    found: dict[str, Any] = {"id": f"g{number}", "kind": kind, "division": "great"}
    found["wiring"] = {
        "owner": draw(st.sampled_from(["us", "us", "organ", "unknown"])),
        "cable_length": draw(st.sampled_from(["unknown", "0.5 m", "3 m", "30 m"])),
        "diodes": draw(st.sampled_from(["unknown", "none", "silicon", "schottky"])),
        "contact_resistance": draw(st.sampled_from(["unknown", "2", "22k"])),
        "commons": draw(st.sampled_from([[], [{"name": "bus"}]])),
        "board_place": draw(st.sampled_from(["left", "right"])),
        "idle": {"volts": draw(st.sampled_from(["unknown", "0,1 V"]))},
        "keyed": {"volts": draw(st.sampled_from(["unknown", "12,4 V"])), "source": "1"},
    }
    interface = draw(st.sampled_from([None, "chain", "matrix", "pins"]))
    found["wanted"] = {} if interface is None else {"interface": interface}
    match kind:
        case "manual":
            return found | {"compass": {"count": count}}
        case "roller":
            return found | {"stages": count}
        case _:
            return found | {"points": [{"id": f"p{n}"} for n in range(count)]}


@st.composite
def consoles(draw: st.DrawFn) -> Job:
    """Draw a console of one to four groups, wired in any way."""
    groups = [draw(_group(number)) for number in range(draw(st.integers(1, 4)))]
    return Job.model_validate(
        {
            "format": 1,
            "instrument": {"name": "drawn"},
            "originals": {"preserved": draw(st.booleans())},
            "divisions": [{"id": "great"}],
            "groups": groups,
        }
    )

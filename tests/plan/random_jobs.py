"""Random small jobs: groups of every kind, lines of every owner, tags or none, shared lines, steps written by hand."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from retrofit.survey.job import Job
from retrofit.survey.points import list_points

DIVISIONS = ("great", "pedal", "tabs")
NAMES = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=12)
_BOTH = st.sampled_from([True, False])


@st.composite
def _wiring(draw: st.DrawFn, owners: tuple[str, ...]) -> dict[str, Any]:
    states = {
        state: {"volts": draw(st.sampled_from(["0,1 V", "12,4 V", "-12", "wanders", "unknown"]))}
        for state in ("idle", "keyed")
    }
    place = draw(st.sampled_from(["unknown", "upper rail", "toe board", " upper  rail ", "é?"]))
    return {"owner": draw(st.sampled_from(owners)), "board_place": place, **states}


@st.composite
def _found(draw: st.DrawFn) -> dict[str, Any]:
    return {
        "strip": draw(st.sampled_from(["", "A", "B"])),
        "tag": draw(st.sampled_from(["", "1", "2", "3"])),
        "condition": draw(st.sampled_from(["sound", "dead", "not-fitted", "left-out"])),
    }


@st.composite
def _group(draw: st.DrawFn, number: int, owners: tuple[str, ...], steps: bool) -> dict[str, Any]:
    kind = draw(st.sampled_from(["manual", "stops", "shoes", "roller"]))
    base: dict[str, Any] = {
        "id": f"g{number}",
        "name": draw(NAMES),
        "kind": kind,
        "division": draw(st.sampled_from(DIVISIONS)),
        "wiring": draw(_wiring(owners)),
        "wanted": {
            "tap": draw(st.sampled_from(["spring-hook", "ring", "adaptor"])),
            "sense": draw(st.sampled_from(["unknown", "divider", "sensor"])),
        },
    }
    match kind:
        case "manual":
            second = {"id": "second", "division": draw(st.sampled_from(DIVISIONS))}
            contacts = [{"id": "first"}, second] if draw(_BOTH) else [{"id": "first"}]
            points = [{"note": 36, **draw(_found())}]
            interface = {"interface": "matrix"} if steps and draw(_BOTH) else {}
            base["wiring"]["commons"] = [{"name": "bus"}]
            wanted = {**base["wanted"], **interface, "matrix_columns": 2}
            return base | {"compass": {"count": 3}, "contacts": contacts, "points": points, "wanted": wanted}
        case "stops":
            return base | {"points": [{"id": f"s{n}", "name": draw(NAMES), **draw(_found())} for n in range(3)]}
        case "shoes":
            return base | {
                "points": [
                    {"id": "swell", "sensor": "potentiometer", **draw(_found())},
                    {"id": "choir", "sensor": "steps", "stages": 3},
                ]
            }
        case _:
            return base | {"stages": 3}


_HAND_KINDS = ("remove-part", "run-cable", "mount-board", "cut-wire", "drill-hole", "change-value")


@st.composite
def _hand_step(draw: st.DrawFn, number: int) -> dict[str, Any]:
    return {
        "id": f"by-hand-{number}",
        "kind": draw(st.sampled_from(_HAND_KINDS)),
        "subject": draw(st.sampled_from(["console", "g0", *DIVISIONS])),
        "text": "done: " + draw(NAMES),
        "inverse": draw(st.sampled_from(["", "put back"])),
        "date": "2026-03-07",
        "initials": "QT",
    }


@st.composite
def jobs(draw: st.DrawFn, *, preserved: bool | None = None) -> Job:
    """Draw a job; with `preserved` true the owner wants everything kept, and nothing in it is done for good.

    Then lines are the organ's or unknown, or have sensors of our own; there is no matrix, and no step by hand.
    """
    keeps = draw(_BOTH) if preserved is None else preserved
    owners = ("organ", "us", "unknown")
    groups = [draw(_group(n, owners, steps=not keeps)) for n in range(draw(st.integers(1, 3)))]
    content: dict[str, Any] = {
        "format": 1,
        "instrument": {"name": draw(NAMES.filter(bool))},
        "originals": {"preserved": keeps},
        "divisions": [{"id": division} for division in DIVISIONS],
        "groups": groups,
    }
    if preserved is None:
        content["operations"] = [draw(_hand_step(n)) for n in range(draw(st.integers(0, 2)))]
    ids = [point.id for point in list_points(Job.model_validate(content)) if point.stage_of is None]
    if len(ids) > 1 and draw(_BOTH):
        pair = st.lists(st.sampled_from(ids), min_size=2, max_size=2, unique=True)
        content["same_lines"] = [{"points": draw(pair)}]
    return Job.model_validate(content)

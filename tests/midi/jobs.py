"""Small invented jobs for the tests of messages."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from retrofit.midi.assign import assign_messages
from retrofit.midi.assignment import Assignment
from retrofit.survey.job import Job
from retrofit.survey.points import list_points


def make_job(groups: list[dict[str, Any]], **more: Any) -> Job:
    """Return a job with these groups; divisions not given are those that the groups name, in their order."""
    named = [name for group in groups for name in _divisions(group)]
    divisions = more.pop("divisions", None) or [{"id": name} for name in dict.fromkeys(named)]
    instrument = {"name": "test console (invented)", "invented": True}
    record = {"format": 1, "instrument": instrument, "divisions": divisions, "groups": groups, **more}
    return Job.model_validate(record)


def _divisions(group: dict[str, Any]) -> list[str]:
    return [group["division"], *(c["division"] for c in group.get("contacts", ()) if "division" in c)]


def assign(groups: list[dict[str, Any]], **more: Any) -> Assignment:
    """Return the messages of a job with these groups."""
    job = make_job(groups, **more)
    return assign_messages(job, list_points(job))


def keys(name: str, lowest: int = 36, count: int = 61, **more: Any) -> dict[str, Any]:
    """Return a manual; its division has its name unless another is given."""
    compass = {"lowest": lowest, "count": count}
    return {"id": name, "kind": "manual", "division": name, "compass": compass, **more}


def controls(name: str, kind: str, division: str, count: int, **more: Any) -> dict[str, Any]:
    """Return a stop rail, a piston slip or toe studs with points c1, c2 and so on."""
    points = [{"id": f"c{i + 1}"} for i in range(count)]
    return {"id": name, "kind": kind, "division": division, "points": points, **more}


def shoes(name: str, division: str, count: int, **more: Any) -> dict[str, Any]:
    """Return expression shoes with points s1, s2 and so on."""
    points = [{"id": f"s{i + 1}", "sensor": "potentiometer"} for i in range(count)]
    return {"id": name, "kind": "shoes", "division": division, "points": points, **more}


def roller(name: str, division: str, **more: Any) -> dict[str, Any]:
    """Return a crescendo roller of twelve stages."""
    return {"id": name, "kind": "roller", "division": division, "stages": 12, **more}


@st.composite
def _key_groups(draw: st.DrawFn, name: str, divisions: list[str]) -> dict[str, Any]:
    contacts: list[dict[str, Any]] = [{"id": "key"}]
    for index in range(draw(st.integers(0, 2))):
        contact = {"id": f"set{index}", "transpose": draw(st.sampled_from([0, 0, 12, -12]))}
        if draw(st.booleans()):
            contact["division"] = draw(st.sampled_from(divisions))
        contacts.append(contact)
    lowest, count = draw(st.integers(0, 60)), draw(st.integers(1, 67))
    return keys(name, lowest, count, division=draw(st.sampled_from(divisions)), contacts=contacts)


@st.composite
def _other_groups(draw: st.DrawFn, name: str, divisions: list[str]) -> dict[str, Any]:
    division = draw(st.sampled_from(divisions))
    kind = draw(st.sampled_from(["stops", "pistons", "toe-studs", "shoes", "roller"]))
    if kind == "shoes":
        return shoes(name, division, draw(st.integers(1, 8)))
    if kind == "roller":
        return roller(name, division)
    message = draw(st.sampled_from([None, None, "note", "controller", "program"]))
    return controls(name, kind, division, draw(st.integers(1, 120)), wanted={"message": message} if message else {})


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Draw a job in which no channel and no number is named, with points left out and points on shared lines."""
    divisions = [f"d{i}" for i in range(draw(st.integers(1, 16)))]
    groups = [draw(_key_groups(f"k{i}", divisions)) for i in range(draw(st.integers(0, 4)))]
    groups += [draw(_other_groups(f"g{i}", divisions)) for i in range(draw(st.integers(1, 5)))]
    listed = [f"{g['id']}.{p['id']}" for g in groups if g["kind"] in ("stops", "pistons") for p in g["points"]]
    lines = [{"points": listed[:2]}] if len(listed) > 1 and draw(st.booleans()) else []
    for group in groups:
        for point in group.get("points", ()):
            point["condition"] = draw(st.sampled_from(["sound", "sound", "not-fitted", "left-out"]))
    wanted = {"controllers_to_avoid": draw(st.lists(st.integers(0, 127), max_size=5))}
    return make_job(groups, divisions=[{"id": name} for name in divisions], same_lines=lines, wanted=wanted)

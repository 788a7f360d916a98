"""Invented consoles drawn by chance, to prove the plan and the firmware on shapes that nobody had in mind."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.survey.job import Job

_CONTACTS = ("silver-leaf", "reed", "microswitch", "wire-on-bus", "unknown")
_SENSES: tuple[dict[str, Any], ...] = (
    {"sense": "pull-up"},
    {"sense": "pull-down"},
    {"sense": "divider", "keyed_reads_high": True},
    {"sense": "divider", "keyed_reads_high": False},
)


INTERFACES = ("chain", "chain", "matrix", "pins", "multiplexer", "expander")


def random_job(seed: int, interfaces: Sequence[str] = INTERFACES) -> Job:
    """Return a job whose plan has no errors, drawn from `seed` with groups on `interfaces`.

    Drawings that do not fit the board are thrown away.
    """
    rng = Random(seed)
    while True:
        job = _draw(rng, interfaces)
        if not plan_conversion(job, load_catalogue()).errors:
            return job


def _draw(rng: Random, interfaces: Sequence[str]) -> Job:
    groups = [_keys(rng, number, interfaces) for number in range(rng.randint(1, 4))]
    groups += [_listed(rng, "stops", number, interfaces) for number in range(rng.randint(0, 2))]
    groups += [_listed(rng, "pistons", number, interfaces) for number in range(rng.randint(0, 2))]
    groups += [_shoes(rng) for _ in range(rng.randint(0, 1))]
    return Job.model_validate(
        {
            "format": 1,
            "instrument": {"name": "drawn by chance (invented)", "invented": True},
            "wanted": {"power_on_wait_s": 0.1, "note_off": rng.choice(("velocity-zero", "note-off"))},
            "divisions": [{"id": group["division"]} for group in groups],
            "groups": groups,
        }
    )


def _keys(rng: Random, number: int, interfaces: Sequence[str]) -> dict[str, Any]:
    count = rng.choice((13, 25, 32, 49, 61))
    compass = {"lowest": 36, "count": count}
    return {**_group(rng, "manual", f"manual-{number}", interfaces), "compass": compass}


def _listed(rng: Random, kind: str, number: int, interfaces: Sequence[str]) -> dict[str, Any]:
    points = [{"id": f"n{turn}", "rest": rng.choice(("open", "open", "closed"))} for turn in range(rng.randint(3, 30))]
    return {**_group(rng, kind, f"{kind}-{number}", interfaces), "points": points}


def _shoes(rng: Random) -> dict[str, Any]:
    points = [{"id": f"shoe-{turn}", "sensor": "potentiometer"} for turn in range(rng.randint(1, 3))]
    return {"id": "shoes", "kind": "shoes", "division": "expression", "wiring": {"owner": "us"}, "points": points}


def _group(rng: Random, kind: str, name: str, interfaces: Sequence[str]) -> dict[str, Any]:
    interface = rng.choice(interfaces)
    sense = rng.choice(_SENSES) if interface == "chain" else _SENSES[0]
    wiring = {
        "owner": "us",
        "contact": rng.choice(_CONTACTS),
        "bounce": rng.choice(("unknown", f"{rng.uniform(0.3, 6):.1f} ms")),
        "cable_length": rng.choice(("unknown", f"{rng.uniform(0.2, 3):.1f}")),
        "diodes": "silicon",
    }
    return {
        "id": name,
        "kind": kind,
        "division": f"division-{name}",
        "wiring": wiring,
        "wanted": {"interface": interface, "multiplexer_inputs": rng.choice((8, 16)), **sense},
    }

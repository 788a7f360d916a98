"""Faults found in the data of a file, before they are given the file's name, line and dotted key."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from retrofit.survey.problems import Problem, ProblemKind
from retrofit.survey.toml_lines import Path, index_lines, line_of


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong at a place of the data: keys of tables and, from 0, positions in lists."""

    kind: ProblemKind
    path: Path
    found: str
    allowed: str
    remedy: str = ""


def faults_to_problems(faults: Iterable[Fault], file: str, text: str, data: Mapping[str, object]) -> list[Problem]:
    """Return the faults as problems with lines and dotted keys, in the order of the file."""
    try:
        lines = index_lines(text)
    except (ValueError, IndexError, RecursionError):
        lines = {}
    problems = [
        Problem(f.kind, file, line_of(lines, f.path), dotted(f.path, data), f.found, f.allowed, f.remedy)
        for f in faults
    ]
    return sorted(problems, key=lambda problem: problem.line or 0)


def dotted(path: Path, data: object) -> str:
    """Return the dotted key of a place; members of a list are named by their id, others `#1` for the first."""
    parts = []
    for step in path:
        data = _member(data, step)
        parts.append(str(step) if isinstance(step, str) else _member_name(data, step))
    return ".".join(parts)


def _member(data: object, step: str | int) -> object:
    if isinstance(data, dict):
        return data.get(step)
    inside = isinstance(data, list | tuple) and isinstance(step, int) and step < len(data)
    return data[step] if inside and isinstance(data, list | tuple) and isinstance(step, int) else None


def _member_name(member: object, position: int) -> str:
    name = member.get("id") if isinstance(member, dict) else None
    return name if isinstance(name, str) and name else f"#{position + 1}"

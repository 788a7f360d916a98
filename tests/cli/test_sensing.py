"""The sensing section of `retrofit plan`, its JSON, and the circuit in the wiring schedule."""

from __future__ import annotations

import json
import re
from pathlib import Path

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged, Part
from retrofit.cli.sensing import LIGHTS, corner_words, judged_words, parts_words
from tests.cli.conftest import Command

SENSING_KEYS = {"group", "class", "circuit", "parts", "verdict", "worst", "load_ua", "refused"}
WORST_KEYS = {"criterion", "value", "limit", "unit", "corner"}


def test_the_corner_has_a_line_of_its_own(retrofit: Command, theatre: Path) -> None:
    """The worst line is criterion, figure and limit; the corner follows, in prefixes and without an exponent."""
    lines = retrofit("plan", theatre).out.splitlines()
    worst = next(place for place, line in enumerate(lines) if line.startswith("  worst "))
    said = r"  worst    \[~\] current taken from the line: [\d.]+ % of keyed current, at most 5 %"
    assert re.fullmatch(said, lines[worst])
    assert lines[worst + 1].startswith("           (supply 4.5 V, line ")
    assert not [line for line in lines if re.search(r"\de[+-]\d", line)]


def test_equal_parts_are_counted() -> None:
    """Two resistors in the same place are one line of the list; a piece has no value."""
    series = Part("in series with the line", "resistor", 470e3, "Ω", 0.01)
    coupler = Part("isolator", "optocoupler", 1, "piece", 0.0)
    assert parts_words((series, series, coupler)) == "2 x resistor 470 kΩ in series with the line; optocoupler isolator"


def test_a_verdict_has_a_sign_and_needs_no_colour() -> None:
    """Four verdicts, four signs; a figure is said with limit and corner, an unknown one with what is missing."""
    assert len(set(LIGHTS.values())) == len(LIGHTS) == 4
    result = Result(6.25, 5.0, "% of supply", at_least=True, corner="supply 4.5 V")
    assert judged_words(Judged("low level", result)) == "[+] low level: 6.25 % of supply, at least 5 %"
    assert corner_words(Judged("low level", result)) == "(supply 4.5 V)"
    narrow = Judged("low level", result, good_from=5.0)
    assert judged_words(narrow).startswith("[~] ")
    failing = Judged("load", Result(9.0, 5.0, "%", at_least=False, corner="there"))
    assert judged_words(failing) == "[x] load: 9 %, at most 5 %"
    assert judged_words(Judged("kick", None, missing="the kick")) == "[?] kick: nobody knows the kick"


def test_every_group_has_its_circuit_on_the_screen(retrofit: Command, theatre: Path) -> None:
    """Each group of contacts is there with sign, word and circuit; lines of the organ with what they feel."""
    out = retrofit("plan", theatre).out
    section = out[out.index("\nsensing ") :]
    for group in ("accompaniment", "great", "solo", "pedal", "pistons", "studs"):
        assert f"\n{group}" in section
    assert "great: [~] narrow, high-impedance divider" in section
    assert "solo: [?] unknown, high-impedance divider" in section
    assert "crescendo: [+] good, contact with pull-up" in section
    assert "board off" in section
    assert "the line is the organ's" in section
    assert "isolation: our ground is joined to the organ's return by accompaniment" in section
    assert "controller fitted: expect " in section


def test_the_json_has_a_circuit_for_every_group(retrofit: Command, theatre: Path) -> None:
    """Other programs find circuit, parts, verdict, the deciding figure and the load of each group."""
    content = json.loads(retrofit("plan", theatre, "--json").out)
    sensing = {entry["group"]: entry for entry in content["sensing"]}
    assert all(entry.keys() >= SENSING_KEYS for entry in sensing.values())
    great = sensing["great"]
    assert great["circuit"] == "high-impedance divider"
    assert great["worst"].keys() == WORST_KEYS
    assert 0 < great["load_ua"] < 50
    assert {part["unit"] for part in great["parts"]} == {"Ω"}
    assert sensing["studs"]["load_ua"] is None
    assert sensing["studs"]["worst"] is None


def test_the_wiring_schedule_names_the_circuit(retrofit: Command, theatre: Path, tmp_path: Path) -> None:
    """Whoever wires a contact reads beside it which circuit stands between the line and the input."""
    assert retrofit("build", theatre, "--out", tmp_path / "out").code == 0
    schedule = next((tmp_path / "out").rglob("wiring-schedule.csv")).read_text(encoding="utf-8")
    header = next(line for line in schedule.splitlines() if "sense circuit" in line)
    assert header.count(",") > 20
    assert any("great.36" in line and "high-impedance divider" in line for line in schedule.splitlines())
    assert any("crescendo" in line and "contact with pull-up" in line for line in schedule.splitlines())

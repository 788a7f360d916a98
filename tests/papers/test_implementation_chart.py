"""The MIDI implementation chart, against what the console really sends, read by mido."""

from __future__ import annotations

from dataclasses import replace

import mido
import pytest

from retrofit.cli.plans import planned
from retrofit.papers.implementation_chart import NO, YES, chart_lines, implementation_chart_text
from retrofit.papers.pages import LINES, WIDTH
from retrofit.plan.model import ConversionPlan
from retrofit.survey.instrument import NoteOff
from tests.plan.topologies.consoles import demo_job
from tests.writer.plans import bench_plan

PANIC = {"panic": ("pistons.p1", "pistons.p2")}
PLANS = [bench_plan(), *(planned(demo_job(name)) for name in ("gutted_home", "theatre"))]

FUNCTIONS = [
    "Channel: default",
    "Note number",
    "Velocity: note on",
    "Velocity: note off",
    "Aftertouch: keys",
    "Aftertouch: channel",
    "Pitch bend",
    "Program change",
    "System exclusive",
    "Common: song pos.",
    "Common: song select",
    "Common: tune request",
    "Real time: clock",
    "Aux: all sound off",
    "Aux: local on/off",
    "Aux: all notes off",
    "Aux: active sense",
    "Aux: reset",
]
"""Of the chart in the MIDI 1.0 Detailed Specification, in its order (from memory)."""


def sent(plan: ConversionPlan) -> list[mido.Message]:
    """Return every message of every contact, as mido reads it."""
    pairs = [(point.message.on, point.message.off) for point in plan.points if point.message is not None]
    return [mido.Message.from_bytes(list(message)) for pair in pairs for message in pair if message]


def numbers(words: str) -> set[int]:
    """Return the numbers that `1-3, 5` stands for."""
    found: set[int] = set()
    for part in filter(None, words.split(", ")):
        first, _, last = part.partition("-")
        found |= set(range(int(first), int(last or first) + 1))
    return found


def transmitted(plan: ConversionPlan, function: str) -> str:
    """Return what the chart says is sent of a function."""
    return next(line[1] for line in chart_lines(plan) if line[0] == function)


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.job.instrument.name)
def test_what_is_transmitted_is_exactly_what_the_contacts_send(plan: ConversionPlan) -> None:
    """Channels, notes, velocities, controllers and programs are those of the messages, no more and no fewer."""
    messages = sent(plan)
    notes = [message for message in messages if message.type.startswith("note")]
    shoes = [point.shoe for point in plan.points if point.shoe is not None]
    channels = {message.channel + 1 for message in messages} | {shoe.channel for shoe in shoes}
    assert numbers(transmitted(plan, "Channel: default")) == channels
    assert numbers(transmitted(plan, "Note number")) == {message.note for message in notes}
    velocities = {message.velocity for message in notes if message.type == "note_on" and message.velocity}
    assert numbers(transmitted(plan, "Velocity: note on").removeprefix("9n, v=")) == velocities
    controllers = [line[0] for line in chart_lines(plan) if line[0].startswith("Control change ")]
    listed = {number for words in controllers for number in numbers(words.removeprefix("Control change "))}
    used = {message.control for message in messages if message.type == "control_change"}
    assert listed == used | {shoe.controller for shoe in shoes}
    programs = {message.program for message in messages if message.type == "program_change"}
    assert transmitted(plan, "Program change") == (NO if not programs else transmitted(plan, "Program change"))
    assert numbers(transmitted(plan, "Program change").removeprefix(NO)) == programs


def test_the_functions_stand_in_the_order_of_the_standard() -> None:
    """Each of them has its line."""
    lines = [line[0] for line in chart_lines(PLANS[0])]
    assert [name for name in lines if name in FUNCTIONS] == FUNCTIONS


@pytest.mark.parametrize(
    ("wish", "function", "column", "words"),
    [
        ({"note_off": NoteOff.NOTE_OFF}, "Velocity: note off", 1, "8n, v=64"),
        ({"note_off": NoteOff.VELOCITY_ZERO}, "Velocity: note off", 1, "9n, v=0"),
        ({"listen_to_stops": True}, "Control change 20-21", 2, YES),
        ({"listen_to_stops": False}, "Control change 20-21", 2, NO),
        (
            {"panic": ("pistons.p1", "pistons.p2")},
            "Aux: all notes off",
            3,
            "controller 123, at every start, and in a panic",
        ),
        ({"panic": ("pistons.p1", "pistons.p2")}, "Control change 64", 1, YES),
        ({"panic": ()}, "Aux: all notes off", 3, "controller 123, at every start"),
    ],
)
def test_the_chart_follows_the_wishes_of_the_job(
    wish: dict[str, object], function: str, column: int, words: str
) -> None:
    """How notes end, whether stops take orders, and the panic are told as the job has them."""
    plan = bench_plan()
    job = plan.job.model_copy(update={"wanted": plan.job.wanted.model_copy(update=wish)})
    lines = {line[0]: line for line in chart_lines(replace(plan, job=job))}
    assert lines[function][column] == words


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.job.instrument.name)
def test_it_prints_on_pages_of_eighty_columns(plan: ConversionPlan) -> None:
    """Every page has the digest, and the channels of all divisions are there."""
    text = implementation_chart_text(plan)
    lines = text.splitlines()
    assert max(map(len, lines)) <= WIDTH
    assert all(plan.digest in line for line in lines[1::LINES])
    for division in plan.job.divisions:
        assert any(line.startswith(division.name or division.id) for line in lines)

"""What the plan says of outlets, of a panic's pistons and of orders for stops."""

from __future__ import annotations

import pytest

from retrofit.plan.ledger import ledger
from retrofit.survey.operations import OperationKind
from tests.plan.jobs import GREAT, HEAD, ORGANS, OURS, keys, plan_of, stops

PISTONS = """
[[groups]]
id = "slip"
kind = "pistons"
division = "great"
points = [{ id = "a" }, { id = "b" }, { id = "gone", condition = "left-out" }]
"""


def found(wanted: str, rule: str) -> list[str]:
    """What a rule finds of a console with pistons and these wishes."""
    plan = plan_of(HEAD + f"[wanted]\n{wanted}\n" + GREAT + keys() + OURS + PISTONS + OURS)
    return [finding.found for finding in plan.findings if finding.rule == rule]


@pytest.mark.parametrize(
    ("panic", "words"),
    [
        ('["slip.a", "slip.b"]', []),
        ('["slip.a"]', ["1 piston is named: slip.a"]),
        ('["slip.a", "slip.a"]', ["1 piston is named: slip.a"]),
        ('["slip.a", "great.36"]', ["'great.36' is no piston that is read"]),
        ('["slip.gone", "slip.c"]', ["'slip.gone' is no piston that is read", "'slip.c' is no piston that is read"]),
    ],
)
def test_a_panic_takes_two_pistons_that_are_read(panic: str, words: list[str]) -> None:
    """Two different pistons that take part; anything else is named."""
    assert found(f"panic = {panic}", "panic-pistons-unfit") == words


@pytest.mark.parametrize(
    ("board", "outlet", "refused"),
    [
        ("atmega2560", "din", False),
        ("atmega2560", "usb", True),
        ("atmega2560", "both", True),
        ("atmega32u4", "both", False),
        ("atmega32u4", "usb", False),
    ],
)
def test_a_board_is_asked_only_for_outlets_that_it_has(board: str, outlet: str, refused: bool) -> None:
    """A board without USB of its own refuses it, also beside DIN."""
    wanted = f'board = "{board}"\nmidi_out = "{outlet}"'
    assert bool(found(wanted, "midi-out-not-on-board")) is refused


def test_both_outlets_cross_the_barrier_and_have_their_leads() -> None:
    """With both outlets each lead has a step of its own, and both cross to the outside while the organ plays."""
    wanted = '[wanted]\nboard = "atmega32u4"\nmidi_out = "both"\n'
    plan = plan_of(HEAD + wanted + GREAT + keys() + ORGANS + '[groups.wanted]\nsense = "divider"\n')
    assert plan.isolation is not None
    always = [c.conductor for c in plan.isolation.crossings if c.when == "while the organ plays"]
    assert always == ["USB lead to the computer: MIDI and supply", "MIDI DIN lead"]
    leads = [step.id for step in ledger(plan.job) if step.kind is OperationKind.PLUG_MIDI]
    assert leads == ["plug-midi.lead", "plug-midi.usb-lead"]


def test_orders_by_usb_need_no_circuit() -> None:
    """The note about the input's optocoupler is for DIN alone."""
    rail = stops('{ id = "flute" }') + OURS
    wanted = '[wanted]\nboard = "atmega32u4"\nmidi_out = "usb"\nlisten_to_stops = true\n'
    plan = plan_of(HEAD + wanted + GREAT + rail)
    assert "midi-input-not-drawn" not in {finding.rule for finding in plan.findings}

"""Figures that no console has are said in words; figures just inside the limits are not."""

from __future__ import annotations

import pytest

from tests.plan.jobs import GREAT, HEAD, OURS, keys, plan_of

CABLE, CONTACT, BOUNCE = 'cable_length = "1,0 m"', 'contact_resistance = "0,2"', 'bounce = "0,6 ms"'


def _rules(text: str) -> set[str]:
    return {finding.rule for finding in plan_of(text).findings}


@pytest.mark.parametrize(
    ("rule", "plain", "doubtful", "allowed"),
    [
        ("cable-length-doubtful", CABLE, 'cable_length = "100,1 m"', 'cable_length = "100 m"'),
        ("contact-resistance-doubtful", CONTACT, 'contact_resistance = "101k"', 'contact_resistance = "100k"'),
        ("contact-resistance-doubtful", CONTACT, 'contact_resistance = "OL"', 'contact_resistance = "unknown"'),
        ("bounce-is-zero", BOUNCE, 'bounce = "0"', 'bounce = "0,1 ms"'),
        ("bounce-is-zero", BOUNCE, "bounce = 0.0", 'bounce = "unknown"'),
    ],
)
def test_a_figure_past_its_limit_is_doubted(rule: str, plain: str, doubtful: str, allowed: str) -> None:
    """The limit itself, and what was not read, raise no doubt."""
    assert rule in _rules(HEAD + GREAT + keys() + OURS.replace(plain, doubtful))
    assert rule not in _rules(HEAD + GREAT + keys() + OURS.replace(plain, allowed))


def test_contacts_that_are_all_called_dead_may_read_open() -> None:
    """The two words about them agree."""
    dead = ", ".join(f'{{ note = {note}, condition = "dead" }}' for note in range(36, 49))
    text = HEAD + GREAT + keys(extra=f"points = [{dead}]") + OURS.replace(CONTACT, 'contact_resistance = "OL"')
    assert "contact-resistance-doubtful" not in _rules(text)


@pytest.mark.parametrize(("register", "doubted"), [(8, False), (9, True)])
def test_up_to_eight_unused_registers_are_nothing_to_ask_about(register: int, doubted: bool) -> None:
    """All keys lie on two registers, recorded behind a gap of eight or nine."""
    wired = '[[divisions]]\nid = "great"\nprogress = "wired"\n'
    places = (f'"great.{36 + n}" = "chain register {register + n // 8} bit {n % 8}"\n' for n in range(13))
    plan = plan_of(HEAD + wired + keys() + OURS + "[addresses]\n" + "".join(places))
    said = [finding for finding in plan.findings if finding.rule == "register-gap"]
    assert [finding.subject for finding in said] == ["addresses.great.36"] * doubted
    assert [f"leaves {register} registers unused" in finding.found for finding in said] == [True] * doubted

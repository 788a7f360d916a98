"""The console made from a plan: levels that follow from the wiring, and addresses that do not overlap."""

from __future__ import annotations

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.scan.addresses import ChainAddress, MatrixAddress, PinAddress
from retrofit.survey.contacts import GroupBase
from retrofit.survey.wishes import GroupWish, Sense
from tests.emulator.demos import DEMOS, demo_job
from tests.emulator.stage import Contact, Stage, closed_level


def group(**wanted: object) -> GroupBase:
    """Return a group with only its wishes told."""
    return GroupBase(id="great", division="great", wanted=GroupWish.model_validate(wanted))


@pytest.mark.parametrize(
    ("wanted", "level"),
    [
        ({"sense": Sense.PULL_UP}, 0),
        ({"sense": Sense.PULL_DOWN}, 1),
        ({"sense": Sense.DIVIDER, "keyed_reads_high": True}, 1),
        ({"sense": Sense.DIVIDER, "keyed_reads_high": False}, 0),
    ],
)
def test_a_closed_contact_gives_the_level_of_its_sensing(wanted: dict[str, object], level: int) -> None:
    """To our ground low, to our supply high, a keyed line as the job says (common practice, no source)."""
    assert closed_level(group(**wanted)) == level


def test_a_level_that_nobody_stated_is_refused() -> None:
    """The proof does not guess."""
    with pytest.raises(ValueError, match="level of a keyed line of great"):
        closed_level(group())


@pytest.mark.parametrize(
    ("address", "closed_at_rest", "event"),
    [
        (ChainAddress(3, 5), False, (7, "chain", 3, 5, 0)),
        (ChainAddress(3, 5), True, (7, "chain", 3, 5, 1)),
        (MatrixAddress(1, 2, 4), False, (7, "matrix", 0, 2, 4, 1)),
        (MatrixAddress(1, 2, 4), True, (7, "matrix", 0, 2, 4, 0)),
        (PinAddress("A8", "K", 0), False, (7, "port", "K", 0, 0)),
    ],
)
def test_putting_a_point_on_moves_its_contact(
    address: ChainAddress | MatrixAddress | PinAddress, closed_at_rest: bool, event: tuple[object, ...]
) -> None:
    """On is closed, or open for a contact that rests closed; a closed contact pulls its line low."""
    assert Contact(address, 0, closed_at_rest).event(7, on=True) == event


@pytest.mark.parametrize("name", DEMOS)
def test_no_two_contacts_of_a_demo_share_a_place(name: str) -> None:
    """Every contact has a place of its own, so that a message tells whose it is."""
    contacts = Stage(plan_conversion(demo_job(name), load_catalogue())).contacts
    assert len({str(contact.address) for contact in contacts.values()}) == len(contacts)

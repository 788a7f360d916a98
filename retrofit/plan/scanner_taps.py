"""The taps on a keyboard that the organ scans: one on each strobe and one on each return, whichever keys they serve.

Groups that are listened to share the strobes; they are tapped once.
"""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.ledger_scope import Scope
from retrofit.plan.listening import listened_groups
from retrofit.plan.operations import NOT_TAKEN, Operation, Proof
from retrofit.plan.step_kinds import TAPS, step
from retrofit.survey.bench import Reading
from retrofit.survey.contacts import Group
from retrofit.survey.wiring import Strobes


def scanner_taps(scope: Scope, group: Group) -> Iterator[Operation]:
    """Yield the taps of a group: strobes that no group before it has, then its returns."""
    found = group.wiring.strobes
    if found is None:
        return
    for number in range(_tapped_before(scope, group), found.strobes or 0):
        served = scope.served(list(listened_groups(scope.job)))
        yield _tap(scope, group, f"strobe-{number}", served, _proof("rest", found.rest, "active", found.active_volts))
    for number in range(found.returns or 0):
        served = scope.served([group])
        yield _tap(scope, group, f"return-{number}", served, _proof("idle", found.idle, "keyed", found.keyed))


def _tapped_before(scope: Scope, group: Group) -> int:
    """Return how many strobes the groups before this one have tapped."""
    most = 0
    for other in listened_groups(scope.job):
        if other.id == group.id:
            break
        most = max(most, (other.wiring.strobes or Strobes()).strobes or 0)
    return most


def _tap(scope: Scope, group: Group, line: str, divisions: tuple[str, ...], proof: Proof) -> Operation:
    words = f"{line.replace('-', ' ')} of {group.name or group.id}"
    return step(
        TAPS[group.wanted.tap],
        f"tap-line.{group.id}.{line}",
        group.id,
        words,
        divisions=divisions,
        preserved=scope.preserved(group),
        proof=proof,
        originals=(words,),
        remark="the organ's own scanner goes on; its strobes are only listened to",
    )


def _proof(low: str, first: Reading, high: str, second: Reading) -> Proof:
    """Return the two levels of a line as an oscilloscope showed them, a meter shows their mean."""
    if not first.known and not second.known:
        return Proof(NOT_TAKEN, known=False, states=2)
    words = f"{low} {first}, {high} {second} (oscilloscope, read on a typical line of the group)"
    return Proof(words, known=first.known and second.known, states=2, typical=True)

"""What a comparison promises of any console, and what it says of some."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.circuits.sense.design import Verdict
from retrofit.plan.topologies.compare import RECOMMENDED, WISHED, NothingToCompareError
from retrofit.plan.topologies.kinds import Kind, kind_of, wish_word
from retrofit.plan.topologies.marker import PATTERN, marker_advice
from retrofit.plan.topologies.model import Candidate
from retrofit.plan.topologies.recommend import best_mix, consequences, ranked, reason
from retrofit.survey.job import Job
from retrofit.survey.wishes import Interface
from tests.plan.jobs import GREAT, HEAD, OURS, job_of, keys, stops
from tests.plan.topologies.consoles import compared, consoles, demand_of, demo_job, only_group, rail, wiring


@settings(max_examples=40, deadline=None)
@given(consoles())
def test_a_comparison_keeps_its_promises(job: Job) -> None:
    """Places for every contact, a reason for every refusal, nothing refused or unreadable recommended."""
    comparison = compared(job)
    for group in comparison.groups:
        assert [candidate.kind for candidate in group.candidates] == list(Kind)
        assert group.reason
        for candidate in group.candidates:
            assert candidate.counts.places >= candidate.counts.taken >= group.contacts
            assert all(refusal.found and refusal.remedy for refusal in candidate.refusals)
            assert (candidate.verdict is Verdict.FAILS) == bool(candidate.refusals)
        assert group.recommended is None or group.of(group.recommended).open
    for whole in comparison.whole:
        assert bool(whole.boards) != bool(whole.refusals)
        placed = [group for board in whole.boards for group in board.groups]
        assert not placed or sorted(placed) == sorted(group.group for group in comparison.groups)
        assert not any(board.problems for board in whole.boards)
    assert comparison.recommended is None or comparison.recommended.open


@settings(max_examples=10, deadline=None)
@given(consoles())
def test_a_comparison_is_the_same_twice(job: Job) -> None:
    """Same job, same comparison."""
    assert compared(job) == compared(job)


def test_a_diode_board_that_is_there_is_kept() -> None:
    """A sound diode board wins over fewer pins and fewer chips, and the reason says so."""
    group = only_group(job_of(HEAD + GREAT + keys(61) + wiring(diodes="silicon")))
    assert (group.recommended, "diode board that is there" in group.reason) == (Kind.MATRIX, True)
    freed = "each contact has to be freed of it"
    assert any(freed in remark for remark in group.of(Kind.CHAIN).remarks)
    assert not any(freed in remark for remark in group.of(Kind.MATRIX).remarks)


def test_hot_schottky_diodes_leak_too_much_with_rows_open() -> None:
    """2 µA of a BAT85 (Philips 1996) grows to 11 µA at 50 °C: 49 of them are too much, the 7 of driven rows are not."""
    group = only_group(job_of(HEAD + GREAT + keys(61) + wiring(diodes="schottky")))
    assert group.of(Kind.MATRIX).refusals[0].found.startswith("high level of a column")
    assert not group.of(Kind.MATRIX_DRIVEN).refusals


def test_silicon_diodes_want_another_pull_up() -> None:
    """1 V of a 1N4148 (Panjit) misses the margin with 10 kΩ; the nearest of E24 that keeps every limit is named."""
    candidate = only_group(job_of(HEAD + GREAT + keys(61) + wiring(diodes="silicon"))).of(Kind.MATRIX)
    assert not candidate.refusals
    assert any("not by the usual 10 kΩ" in remark for remark in candidate.remarks)


def test_few_contacts_go_to_pins_and_many_behind_chips() -> None:
    """Eight contacts take fewer joints on pins; 263 find not enough of them, and the chain stands open to them."""
    few, many = only_group(rail(8)), only_group(rail(263))
    assert (few.recommended, "fewer joints" in few.reason) == (Kind.PINS, True)
    assert (many.recommended, many.of(Kind.PINS).open) == (Kind.MUX_16, False)
    assert many.of(Kind.CHAIN).open


def two_rails(contacts: int) -> Job:
    """Return a console of two rails with so many contacts each."""
    points = ", ".join(f'{{ id = "s{n}" }}' for n in range(contacts))
    one = stops(points) + wiring()
    return job_of(HEAD + GREAT + one + one.replace('id = "rail"', 'id = "other"'))


def test_groups_that_ask_for_the_same_pins_give_way() -> None:
    """Each of two rails of 40 would take pins alone; together one of them gives way, and says why."""
    first, second = compared(two_rails(40)).groups
    assert {first.recommended, second.recommended} == {Kind.PINS, Kind.MUX_16}
    given_way = first if first.recommended is not Kind.PINS else second
    assert "more pins than the board has" in given_way.reason


def test_a_console_that_one_board_cannot_hold() -> None:
    """Two rails of 40 all by pins go to two boards, proven least, and what joins them is said."""
    whole = next(whole for whole in compared(two_rails(40)).whole if whole.name == "all by direct pins")
    assert [board.groups for board in whole.boards] == [("rail",), ("other",)]
    assert whole.least_proven
    assert "2 times a DIN lead" in whole.joins[0]


def test_as_many_boards_as_asked_for() -> None:
    """A console that one board holds is spread over two when asked; over three it has too few groups."""
    assert {len(whole.boards) for whole in compared(two_rails(8)).whole if whole.boards} == {1}
    comparison = compared(two_rails(8), boards=2)
    assert comparison.recommended is not None
    assert [board.groups for board in comparison.recommended.boards] == [("rail",), ("other",)]
    over = compared(two_rails(8), boards=3)
    assert over.recommended is None
    assert "cannot be put on 3 boards" in over.whole[0].refusals[0]


def test_what_is_asked_for_is_shown_with_its_consequences() -> None:
    """A rail of eight on the chain works, and costs a chip and more joints than pins."""
    group = only_group(
        job_of(
            HEAD
            + GREAT
            + stops(", ".join(f'{{ id = "s{n}" }}' for n in range(8)))
            + wiring()
            + '[groups.wanted]\ninterface = "chain"\n'
        )
    )
    assert group.wished is Kind.CHAIN
    assert "1 chips instead of 0" in group.consequences
    assert any("joints instead of 27" in words for words in group.consequences)


def test_a_refused_wish_says_why() -> None:
    """A matrix without diodes is asked for: the refusal is the first consequence."""
    group = only_group(job_of(HEAD + GREAT + keys(61) + OURS + '[groups.wanted]\ninterface = "matrix"\n'))
    assert group.wished is Kind.MATRIX
    assert group.consequences[0].startswith("refused: no diodes were found")


def test_a_way_without_front_end_is_never_recommended() -> None:
    """SPI expanders and driven rows have no word by which a job could ask for them."""
    assert (wish_word(Kind.SERIAL), wish_word(Kind.MATRIX_DRIVEN)) == (None, None)
    compared = [word for word in Interface if word is not Interface.LISTEN]
    known = {kind_of(word, inputs) for word in compared for inputs in (8, 16)}
    assert known == {kind for kind in Kind if wish_word(kind)}


def test_an_unknown_board_or_no_contacts() -> None:
    """Both end in words for the user."""
    with pytest.raises(NothingToCompareError, match="the board 'abacus' is not known; there is atmega2560"):
        compared(job_of(HEAD + '[wanted]\nboard = "abacus"\n' + GREAT + keys() + OURS))
    shoes = '[[groups]]\nid = "shoes"\nkind = "shoes"\ndivision = "great"\npoints = [{ id = "a", sensor = "ldr" }]\n'
    with pytest.raises(NothingToCompareError, match="no group has contacts"):
        compared(job_of(HEAD + GREAT + shoes + OURS))


def test_both_demos_have_a_recommendation() -> None:
    """Both demo consoles fit on one board, and every group of the organ's stays on the chain behind a circuit."""
    for name in ("gutted_home", "theatre"):
        comparison = compared(demo_job(name))
        assert comparison.recommended is not None
        assert (comparison.recommended.name, len(comparison.recommended.boards)) == (RECOMMENDED, 1)
        assert [whole.name for whole in comparison.whole][:2] == [RECOMMENDED, WISHED]
    organs = [group.id for group in demo_job("theatre").groups if group.wiring.owner.value == "organ"]
    recommended = {group.group: group.recommended for group in compared(demo_job("theatre")).groups}
    assert {recommended[group] for group in organs} == {Kind.CHAIN}


@given(st.integers(0, 7))
def test_the_marker_is_another_byte_when_shifted(shift: int) -> None:
    """Shifted round, turned end for end or inverted the pattern is not itself, and a stuck line shows neither."""
    turned = ((PATTERN << shift) | (PATTERN >> (8 - shift))) & 0xFF
    backwards = int(f"{PATTERN:08b}"[::-1], 2)
    assert (turned == PATTERN) == (shift == 0)
    assert backwards != PATTERN
    assert turned ^ 0xFF != PATTERN
    assert PATTERN not in (0x00, 0xFF)


def test_marker_counts() -> None:
    """Ex 9: beside 33 registers with one spare bit a 34th is added, 8 µs more at 1 MHz; two spare bits could do."""
    advice = marker_advice(33, 1, 1_000_000)
    assert (advice.registers, advice.added_us) == (34, 8.0)
    assert "1 spare input to tie" in advice.sentence
    assert "tie two of the 3 spare inputs" in marker_advice(33, 3, 1_000_000).sentence


def ways(contacts: int) -> list[Candidate]:
    """Return the candidates of a rail, best first."""
    demand, _ = demand_of(rail(contacts))
    return ranked(only_group(rail(contacts)).candidates, demand)


def test_a_mix_that_never_fits_ends() -> None:
    """When nothing fits, every group has given way as far as it can, and the search ends."""
    mix = best_mix({"rail": ways(8)}, lambda _: False)
    assert mix["rail"].counts.pins == min(candidate.counts.pins for candidate in ways(8))


def test_reasons_name_what_differs() -> None:
    """The first of verdict, joints, chips and pins that differs is the reason."""
    demand, _ = demand_of(rail(8))
    best, other, *_ = ways(8)
    alone = "every other way is refused, or has no front end in the firmware"
    assert reason(best, [best], demand) == alone
    assert "fewer joints" in reason(best, [best, other], demand)
    same = replace(other, counts=replace(other.counts, joints=best.counts.joints))
    assert "fewer chips (0 against 1)" in reason(best, [best, same], demand)
    assert consequences(best, best) == ()

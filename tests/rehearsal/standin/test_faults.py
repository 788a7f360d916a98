"""Faults by name: what each does to what is heard, how they are written, and how random ones are drawn.

What is heard of each fault is common practice, no source, worked out by hand from the drawing of the connectors.
"""

from __future__ import annotations

from random import Random

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.faults.grammar import KINDS, parse_fault, random_fault
from retrofit.rehearsal.standin.faults.names import FaultError
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.stand_ins import names_of, spoilt_wiring
from retrofit.rehearsal.standin.still import StillConsole
from tests.rehearsal.standin.consoles import FAMILIES, HEAD, keys, manual, plan_of

Heard = dict[int, set[int]]


def still(plan: ConversionPlan, *faults: str) -> StillConsole:
    """Return a console with faults."""
    names = names_of(plan, load_catalogue())
    wiring = spoilt_wiring(plan, load_catalogue(), [parse_fault(words, names) for words in faults])
    return StillConsole(plan, wiring)


def notes(messages: frozenset[bytes]) -> set[int]:
    """Return the notes of note-ons."""
    return {message[1] for message in messages if message[0] & 0xF0 == 0x90}


def changed(plan: ConversionPlan, *faults: str) -> Heard:
    """Return what each key turns on or off, of the keys that do not just turn on themselves."""
    console = still(plan, *faults)
    idle = notes(console.hold(()))
    heard = {point.point.note or 0: notes(console.hold([point.point.id])) ^ idle for point in plan.points}
    return {note: found for note, found in heard.items() if found != {note}}


CHAIN, MATRIX = manual("chain"), manual("matrix")


def test_a_sound_console_says_each_key_alone() -> None:
    """Nothing is on at idle, and each key says itself."""
    for plan in (CHAIN, MATRIX):
        assert changed(plan) == {}
        assert still(plan).hold(()) == frozenset()


def test_a_cut_wire_silences_its_key() -> None:
    """A wire of the chain serves one key; a column of the matrix one of every eight, a row eight in a row."""
    assert changed(CHAIN, "cut wire great C4") == {60: set()}
    assert changed(MATRIX, "cut wire J1.4") == {36 + 8 * row + 2: set() for row in range(8) if 36 + 8 * row + 2 <= 96}
    assert changed(MATRIX, "cut wire J2.3") == {note: set() for note in range(44, 52)}


def test_a_cut_return_silences_the_group() -> None:
    """The return of one connector alone can be missed, since the bus is joined to all of them; all of them cannot."""
    assert changed(CHAIN, "cut wire J2.1") == {}
    assert set(changed(CHAIN, "cut return great")) == set(range(36, 97))


def test_joined_wires_sound_together() -> None:
    """Two keys of the chain say both; two columns do so in every row."""
    assert changed(CHAIN, "join great C4 and great C#4") == {60: {60, 61}, 61: {60, 61}}
    heard = changed(MATRIX, "join J1.2 and J1.3")
    assert heard == {note: {pair, pair + 1} for pair in range(36, 92, 8) for note in (pair, pair + 1)} | {
        note: {92, 93} for note in (92, 93)
    }


def test_a_grounded_wire_holds_its_key() -> None:
    """The key is on at idle, and pressing it changes nothing."""
    assert notes(still(CHAIN, "ground wire great C4").hold(())) == {60}
    assert changed(CHAIN, "ground wire great C4") == {60: set()}


def test_swapped_wires_exchange_keys_columns_or_rows() -> None:
    """Two keys, or two keys of every row, or eight with eight."""
    assert changed(CHAIN, "swap wires great C4 and great D4") == {60: {62}, 62: {60}}
    assert changed(MATRIX, "swap wires J2.2 and J2.3") == {
        **{note: {note + 8} for note in range(36, 44)},
        **{note: {note - 8} for note in range(44, 52)},
    }


def test_wires_that_are_moved_along() -> None:
    """From a passed-over terminal each key says the next one, the last finds a free terminal that says nothing."""
    up = changed(CHAIN, "shift wires great from C4 up".replace("C4", "great C4"))
    assert up == {note: {note + 1} for note in range(60, 96)} | {96: set()}
    down = changed(CHAIN, "shift wires great from great C4 down")
    assert down == {60: set()} | {note: {note - 1} for note in range(61, 97)}


def test_mirrored_wires() -> None:
    """The lowest key says the highest, and so on."""
    assert changed(CHAIN, "mirror wires great") == {note: {132 - note} for note in range(36, 97) if note != 66}


def test_a_turned_plug_runs_backwards() -> None:
    """Key n of the eight says key 7 - n, the return being joined through the other plugs."""
    assert changed(CHAIN, "turn connector J2") == {44 + n: {51 - n} for n in range(8)}


def test_a_turned_plug_that_brings_the_only_return_is_dead() -> None:
    """With one plug alone the bus meets the open pin."""
    assert set(changed(manual("chain", 8), "turn connector J1")) == set(range(36, 44))


def test_exchanged_plugs_exchange_eight_keys() -> None:
    """Each of the eight says its opposite number."""
    found = changed(CHAIN, "swap connectors J1 and J3")
    assert found == {**{36 + n: {52 + n} for n in range(8)}, **{52 + n: {36 + n} for n in range(8)}}


def test_a_plug_one_pin_off() -> None:
    """Every wire meets the next pin: the eighth key meets the spare, the return the first input, which is then on."""
    console = still(CHAIN, "shift connector J2 up")
    assert notes(console.hold(())) == {44}
    assert notes(console.hold(["great.44"])) == {44, 45}
    assert notes(console.hold(["great.51"])) == {44}


def test_a_turned_plug_of_a_matrix() -> None:
    """Turned columns: n says 7 - n within its row; three of the top row's are no keys."""
    found = changed(MATRIX, "turn connector J1")
    assert found[36] == {43}
    assert found[92] == set()
    assert found[95] == {96}


def test_rows_and_columns_exchanged() -> None:
    """Key n = 8r + c says 8c + r, and those on the diagonal are right."""
    found = changed(MATRIX, "exchange rows and columns 1")
    keys_here = {(r, c): 36 + 8 * r + c for r in range(8) for c in range(8) if 36 + 8 * r + c <= 96}
    assert found == {
        note: {keys_here[c, r]} if (c, r) in keys_here else set() for (r, c), note in keys_here.items() if r != c
    }


def test_plugs_of_a_matrix_exchanged_alone_silence_it() -> None:
    """The diodes then block every key."""
    assert set(changed(MATRIX, "swap connectors J1 and J2")) == set(range(36, 97))


def test_dead_and_stuck_contacts() -> None:
    """One never says anything, the other always."""
    assert changed(CHAIN, "dead contact great C4") == {60: set()}
    assert notes(still(CHAIN, "stuck contact great.60").hold(())) == {60}


@pytest.mark.parametrize(
    ("fault", "alone", "ghost"),
    [("short diode", True, True), ("reverse diode", False, True), ("open diode", False, False)],
)
def test_diodes_show_in_a_chord_of_three(fault: str, alone: bool, ghost: bool) -> None:
    """X at row a and column c with keys at (b, c) and (a, d): a ghost at (b, d) for a short, and for a reversed one."""
    x, same_column, same_row = "great.46", "great.54", "great.47"
    console = still(MATRIX, f"{fault} {x}")
    assert notes(console.hold([x])) == ({46} if alone else set())
    heard = notes(console.hold([x, same_column, same_row]))
    assert (55 in heard) == ghost
    assert {54, 47} <= heard


def test_a_group_without_diodes_ghosts_at_every_rectangle() -> None:
    """Three corners make the fourth."""
    console = still(MATRIX, "bridge diodes great")
    assert notes(console.hold(["great.36", "great.37", "great.44"])) == {36, 37, 44, 45}
    assert set(changed(MATRIX, "reverse diodes great")) == set(range(36, 97))


def test_registers_without_data_power_or_load() -> None:
    """What lies behind an open data joint is constant, idle when high and on when low."""
    assert set(changed(CHAIN, "no data behind register 5")) == set(range(84, 97))
    assert set(changed(CHAIN, "no power at register 5 high")) == set(range(76, 97))
    assert set(changed(CHAIN, "no load at register 5")) == set(range(76, 84))
    assert notes(still(CHAIN, "no load at register 5 low").hold(())) == set(range(76, 84))


def test_a_clock_too_many_and_one_too_few() -> None:
    """Bits arrive H first: each place shows the next bit of the stream, or the one before."""
    extra = changed(CHAIN, "extra clock at register 1")
    assert extra[44] == {45}
    assert extra[59] == {44}
    lost = changed(CHAIN, "lost clock at register 1")
    assert lost[45] == {44}
    assert lost[36] == {36, 51}


def test_dead_inputs() -> None:
    """An input stuck low is on, one stuck high is never heard."""
    assert notes(still(CHAIN, "stuck input great C4 low").hold(())) == {60}
    assert changed(CHAIN, "stuck input J1.2 high") == {36: set()}


def test_a_multiplexer_that_is_read_too_soon() -> None:
    """A key shows at the next input of the same multiplexer, eight keys on."""
    assert changed(manual("multiplexer"), "bleed multiplexer 3")[38] == {38, 46}


def test_an_expander_that_does_not_answer() -> None:
    """Its fourteen keys are silent."""
    assert set(changed(manual("expander"), "missing expander 2")) == set(range(50, 64))


def test_wrong_settings() -> None:
    """Reversed polarity turns all on and each key off; a channel and a transposition change every message."""
    console = still(CHAIN, "reverse polarity great")
    assert notes(console.hold(())) == set(range(36, 97))
    assert notes(console.hold(["great.60"])) == set(range(36, 97)) - {60}
    assert {message[0] for message in still(CHAIN, "set channel great 7").hold(["great.60"])} == {0x96}
    assert changed(CHAIN, "transpose great -12")[60] == {48}


TWO = HEAD % "" + keys("great", 20) + keys("swell", 25)


def test_a_tap_after_a_coupler() -> None:
    """Keys of the swell key the great's lines as well, as far as the great goes."""
    console = still(plan_of(TWO), "couple swell to great")
    assert {m[:2] for m in console.hold(["swell.40"])} == {bytes((0x92, 40)), bytes((0x91, 40))}
    assert {m[:2] for m in console.hold(["great.40"])} == {bytes((0x91, 40))}
    assert {m[:2] for m in console.hold(["swell.58"])} == {bytes((0x92, 58))}


def test_a_bent_contact_sounds_one_way() -> None:
    """The first key moves the second's contact, not the other way round."""
    assert changed(CHAIN, "bent contact great C4 and great C#4") == {60: {60, 61}}


def test_a_supply_on_a_turned_plug_stops_the_board() -> None:
    """Where a header has our supply on its last pin, a turned plug shorts it through the bus: nothing is heard."""
    supplied = plan_of(HEAD % "" + keys("great", 20, wanted=', sense = "sensor"'))
    assert still(supplied, "turn connector J1").hold(["great.50"]) == frozenset()
    assert notes(still(supplied).hold(["great.50"])) == {50}


@pytest.mark.parametrize(
    ("text", "allowed"),
    [
        ("cut wire great C9", "allowed is a key or a contact"),
        ("cut wire grat C4", "did you mean"),
        ("cut wire J99.2", "allowed are J1"),
        ("cut wire J1.11", "pins 1 to 10"),
        ("cut wire J8.9", "where no wire ends"),
        ("cut wier great C4", "did you mean 'cut wire'"),
        ("explode", "allowed are cut wire"),
        ("", "allowed are cut wire"),
        ("join great C4", "with `and` between"),
        ("swap connectors J1 and J77", "allowed are J1"),
        ("shift connector J1 sideways", "up or down"),
        ("shift wires great from great C4", "up or down"),
        ("short diode great C4", "which has no diode"),
        ("bridge diodes great", "which has no diodes"),
        ("no power at register 8", "allowed are 0, 1"),
        ("no power at register 1 middling", "low or high"),
        ("lost clock at register 0", "from 1 on"),
        ("stuck input great C4", "low or high"),
        ("stuck input J1.1 low", "which is no input"),
        ("bleed multiplexer 1", "none"),
        ("missing expander 1", "none"),
        ("exchange rows and columns 1", "none"),
        ("set channel great 17", "1 to 16"),
        ("set channel great", "whole number"),
        ("transpose great 99", "-60 to 60"),
        ("couple great", "`to`"),
        ("couple great to great", "notes in common"),
        ("late release great 0", "1 to 5000"),
        ("hum great 55", "50, 60, 100, 120"),
        ("cut return nothing", "allowed are great"),
    ],
)
def test_what_is_not_a_fault_is_refused_with_what_is(text: str, allowed: str) -> None:
    """Every refusal says what was found and what is allowed."""
    with pytest.raises(FaultError, match="found") as refused:
        parse_fault(text, names_of(CHAIN, load_catalogue()))
    assert allowed in str(refused.value)


def test_on_a_matrix_wires_are_named_by_pins() -> None:
    """A key's own wire is not there: its column's and its row's pins are named instead."""
    names = names_of(MATRIX, load_catalogue())
    with pytest.raises(FaultError, match=r"J1\.6 \(its column\) and J2\.5 \(its row\)"):
        parse_fault("cut wire great 64", names)
    for text in ("shift wires great from great C4 up", "mirror wires great", "hum great 50", "cut return great"):
        with pytest.raises(FaultError, match="found"):
            parse_fault(text, names)


def test_stops_are_named_by_group_and_name() -> None:
    """A stop goes by its name, with or without its footage, or by its id."""
    names = names_of(plan_of(FAMILIES), load_catalogue())
    for text in ("stops Flute", "stops flute 8'", "stops.flute"):
        assert names.point(text) == "stops.flute"


def test_every_kind_is_drawn_somewhere_and_reads_back() -> None:
    """A random fault is drawn as words that read back, and can be done; every kind finds a place on some console."""
    consoles = [CHAIN, MATRIX, manual("multiplexer"), manual("expander"), manual("pins"), plan_of(TWO)]
    random, found = Random(1), set()
    for plan in consoles:
        names = names_of(plan, load_catalogue())
        for kind in KINDS:
            fault = random_fault(kind.words, names, random)
            if fault is not None:
                assert parse_fault(fault.words, names).words == fault.words
                fault.spoil(wiring_of(plan, load_catalogue()))
                found.add(kind.words)
    assert found == {kind.words for kind in KINDS}


def test_the_same_seed_draws_the_same_faults() -> None:
    """A campaign can be repeated."""
    names = names_of(CHAIN, load_catalogue())
    drawn = [[fault and fault.words for k in KINDS for fault in [random_fault(k.words, names, r)]] for r in _twice()]
    assert drawn[0] == drawn[1]


def _twice() -> tuple[Random, Random]:
    return Random(9), Random(9)

"""An optocoupler with series resistor and threshold zener across a line of the organ."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.isolators import Optocoupler, load_optocouplers, load_zeners
from retrofit.circuits.quantity import quantity
from retrofit.circuits.sense.audio import audio_refusals, audio_unknown
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.driven import Driven, driven
from retrofit.circuits.sense.limits import KICK_FACTOR
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.loading import judge_current, judge_decay, judge_supply_change
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.opto_choice import OptoValues, choose_values, driven_led_amps, network, off_state_amps
from retrofit.circuits.sense.opto_judge import judge_network, judge_shift, resistor_watts
from retrofit.circuits.sense.opto_network import Coupler, OptoNetwork
from retrofit.circuits.sense.our_contact import DEAD_VOLTS
from retrofit.circuits.sense.rectifier_gap import ripple_gap_us
from retrofit.circuits.sense.resistor_bodies import body_for
from retrofit.circuits.settle import fall_time_s, rise_time_s

CIRCUIT = "optocoupler with threshold"
TOLERANCE = 0.05
_ONE_WAY, _BOTH_WAYS = "pc817", "tlp290"
"""The couplers that are taken unless another is asked for."""


@dataclass(frozen=True, slots=True)
class _Wish:
    values: OptoValues
    tolerance: float
    organ_supply_ohms: float | None
    bridged: bool


def design(
    line: Line,
    logic: LogicInput,
    *,
    coupler: Optocoupler | None = None,
    values: OptoValues | None = None,
    tolerance: float = TOLERANCE,
    organ_supply_ohms: float | None = None,
    bridged: bool = False,
) -> SenseDesign:
    """Return the optocoupler for a line, with `values` as given or chosen from series E24.

    `bridged` says that something behind it bridges the gaps of an unfiltered supply; without it such a line is refused.
    Raises `CatalogueError` when the coupler's data lack a figure that the worst case needs.
    """
    drive = driven(line)
    if drive is None:
        return _without(line, missing="the volts of the keyed line")
    model = Coupler.of(coupler or _usual_coupler(line, drive))
    chosen = values or choose_values(drive, logic, model, tuple(load_zeners().values()), tolerance)
    if chosen is None:
        return _without(line, refusal=_too_weak(drive, model.name))
    circuit = network(model, chosen, tolerance)
    wish = _Wish(chosen, tolerance, organ_supply_ohms, bridged)
    return _worked_out(line, logic, drive, circuit, wish)


def _usual_coupler(line: Line, drive: Driven) -> Optocoupler:
    """Return the usual coupler, for both directions where the driving state takes either sign."""
    state = line.keyed_volts if drive.keyed_drives else line.idle_volts
    alternates = state is not None and state.least < -DEAD_VOLTS and state.greatest > DEAD_VOLTS
    return load_optocouplers()[_BOTH_WAYS if alternates else _ONE_WAY]


def _too_weak(drive: Driven, name: str) -> str:
    if drive.on.least <= 0:
        return (
            f"the line takes either sign while it drives ({drive.on.least:g} to {drive.on.greatest:g} V): "
            "give the peaks and the frequency of its supply"
        )
    return f"{quantity(drive.on.least, 'V')} are too few to drive the {name} with any resistor"


def _without(line: Line, *, missing: str = "", refusal: str = "") -> SenseDesign:
    """Return a design without parts, because something is missing or nothing fits."""
    unknown = Felt(None, None, None, None, None, None)
    open_question = (Judged("optocoupler input", None, missing),) if missing else ()
    refusals = (*audio_refusals(line), *((refusal,) if refusal else ()))
    return SenseDesign(CIRCUIT, True, None, (), (*open_question, *audio_unknown(line)), unknown, refusals=refusals)


def _ripple_refusals(line: Line, bridged: bool) -> tuple[str, ...]:
    if line.ripple is None or bridged:
        return ()
    return ("the supply falls to nothing between half waves: the gaps must be bridged, or every note stutters",)


def _worked_out(
    line: Line,
    logic: LogicInput,
    drive: Driven,
    circuit: OptoNetwork,
    wish: _Wish,
) -> SenseDesign:
    turned = _needs_reverse_diode(circuit, drive)
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=True,
        keyed_reads_high=not drive.keyed_drives,
        parts=_parts(line, drive, circuit, wish.values, wish.tolerance),
        judged=(
            *judge_network(circuit, drive, logic, line.kick_volts),
            *_loading(line, drive, circuit, wish.organ_supply_ohms),
            *audio_unknown(line),
        ),
        felt=_felt(drive, circuit, turned),
        press_delay_us=1e6 * (circuit.coupler.press_s if drive.keyed_drives else _turn_off_s(circuit, logic)),
        release_delay_us=1e6 * _release_s(line, logic, drive, circuit),
        refusals=(*audio_refusals(line), *_ripple_refusals(line, wish.bridged)),
        remarks=_remarks(turned),
        gap_us=_gap_us(line, logic, drive, circuit),
    )


def _loading(line: Line, drive: Driven, circuit: OptoNetwork, supply_ohms: float | None) -> tuple[Judged, ...]:
    """Return what the organ's line and supply bear of the LED's current; nothing for a line of our own."""
    if line.ours:
        return ()
    amps = circuit.line_amps_most(drive.on.greatest)
    corner = f"{quantity(amps, 'A')} at {quantity(drive.on.greatest, 'V')}"
    found = (
        judge_current(line, amps, corner),
        judge_shift(drive, amps),
        None if line.decay is None else judge_decay(line.decay, circuit.series.least),
        judge_supply_change(line, amps, corner, supply_ohms),
    )
    return tuple(judged for judged in found if judged is not None)


def _needs_reverse_diode(circuit: OptoNetwork, drive: Driven) -> bool:
    """Return True unless both directions are sensed or nothing is known to come backwards."""
    return not circuit.coupler.both_ways and drive.backward_volts != 0.0


def _parts(line: Line, drive: Driven, circuit: OptoNetwork, values: OptoValues, tolerance: float) -> tuple[Part, ...]:
    watts = resistor_watts(circuit, drive)
    body = body_for(watts, max(KICK_FACTOR * (line.kick_volts or 0.0), drive.on.greatest))
    parts = [Part("in series with the line", "resistor", values.series_ohms, "Ω", tolerance, body.words)]
    if values.zener is not None:
        threshold = circuit.threshold
        middle = (threshold.volts.least + threshold.volts.greatest) / 2
        spread = (threshold.volts.greatest - middle) / middle
        role = "in series with the LED, banded end" + ("s together" if circuit.coupler.both_ways else " to plus")
        parts.append(Part(role, f"zener diode {threshold.name}", middle, "V", spread, quantity(threshold.watts, "W")))
    if values.bypass_ohms is not None:
        parts.append(Part("across the LED", "resistor", values.bypass_ohms, "Ω", tolerance))
    if _needs_reverse_diode(circuit, drive):
        parts.append(Part("across the LED, turned round", "diode 1N4148", 1, "piece", 0.0, _reverse_words(drive)))
    parts.append(Part("isolator", f"optocoupler {circuit.coupler.name}", 1, "piece", 0.0))
    parts.append(Part("from the output to the logic supply", "resistor", values.pull_up_ohms, "Ω", tolerance))
    return tuple(parts)


def _reverse_words(drive: Driven) -> str:
    """Return what the diode across the LED must carry, in words."""
    if drive.backward_volts is None:
        return "backward volts of the line not measured"
    return f"for {quantity(drive.backward_volts, 'V')} backwards through the series resistor"


def _felt(drive: Driven, circuit: OptoNetwork, reverse_diode: bool) -> Felt:
    """Return the line's current: the organ alone drives the LED, so that the state of our board changes nothing."""
    driving = _signed_ua(circuit, drive.on.greatest)
    other = None if drive.off is None else _signed_ua(circuit, drive.off.greatest)
    on, idle = (driving, other) if drive.keyed_drives else (other, driving)
    lead_off = driving if reverse_diode or circuit.coupler.both_ways else 0.0
    return Felt(on_ua=on, idle_ua=idle, off_ua=on, open_ua=lead_off, shorted_ua=on, shorted_rail_ua=on)


def _signed_ua(circuit: OptoNetwork, volts: float) -> float:
    backward = volts / circuit.series.least
    return 1e6 * (circuit.line_amps_most(volts) if volts >= 0 else backward)


def _release_s(line: Line, logic: LogicInput, drive: Driven, circuit: OptoNetwork) -> float:
    own = _turn_off_s(circuit, logic) if drive.keyed_drives else circuit.coupler.press_s
    return own + _decay_s(line, logic, drive, circuit)


def _turn_off_s(circuit: OptoNetwork, logic: LogicInput) -> float:
    """Return the slowest turn-off with this pull-up, and the rise of the input behind it."""
    ohms = circuit.pull_up.greatest
    fraction = max(logic.vih(volts) / volts for volts in (logic.supply.least, logic.supply.greatest))
    rise = rise_time_s(ohms, 1e-12 * (logic.capacitance_pf or 0.0), fraction)
    return circuit.coupler.release_s_per_ohm * ohms + rise


def _decay_s(line: Line, logic: LogicInput, drive: Driven, circuit: OptoNetwork) -> float:
    """Return how long a capacitor on the line keeps the LED lit after release."""
    amps = off_state_amps(circuit, logic)
    if line.decay is None or drive.off is None or amps is None:
        return 0.0
    dark = circuit.idle_volts_allowed(amps)
    if not drive.off.greatest < dark < drive.on.greatest:
        return 0.0
    return fall_time_s(
        line.decay.ohms.greatest, line.decay.farads.greatest, drive.on.greatest, drive.off.greatest, dark
    )


def _gap_us(line: Line, logic: LogicInput, drive: Driven, circuit: OptoNetwork) -> float:
    if line.ripple is None:
        return 0.0
    source = drive.on_ohms.greatest if drive.on_ohms else 0.0
    threshold_volts = circuit.driving_volts(driven_led_amps(circuit, logic), source)
    return ripple_gap_us(line.ripple, threshold_volts) + 1e6 * circuit.coupler.press_s


def _remarks(reverse_diode: bool) -> tuple[str, ...]:
    slow = "the release delay grows with the pull-up in proportion (from memory) from a printed value at 3.3 kΩ"
    if not reverse_diode:
        return (slow,)
    return (slow, "the return lead of the LEDs must not come off: through the diodes a keyed line would feed idle ones")

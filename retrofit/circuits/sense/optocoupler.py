"""An optocoupler with series resistor and threshold zener across a line of the organ."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.catalogue.isolators import Optocoupler, Zener, load_optocouplers, load_zeners
from retrofit.circuits.sense.audio import audio_refusals, audio_unknown
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.driven import Driven, driven
from retrofit.circuits.sense.limits import KICK_FACTOR
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.opto_loading import judge_loading
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.opto_choice import OptoValues, choose_values, network, off_state_amps, overdriven_led_amps
from retrofit.circuits.sense.opto_judge import judge_network, resistor_watts
from retrofit.circuits.sense.opto_network import NO_THRESHOLD, Coupler, OptoNetwork
from retrofit.circuits.sense.rectifier_gap import ripple_gap_us
from retrofit.circuits.sense.resistor_bodies import body_for
from retrofit.circuits.settle import fall_time_s, rise_time_s

CIRCUIT = "optocoupler with threshold"
TOLERANCE = 0.05
_ONE_WAY, _BOTH_WAYS = "pc817", "tlp290"
"""The couplers that are taken unless another is asked for."""


def design(
    line: Line,
    logic: LogicInput,
    *,
    coupler: Optocoupler | None = None,
    zeners: Sequence[Zener] | None = None,
    values: OptoValues | None = None,
    tolerance: float = TOLERANCE,
    bridged: bool = False,
) -> SenseDesign:
    """Return the optocoupler for a line, with `values` as given or chosen from series E24.

    `bridged` says that something behind it bridges the gaps of an unfiltered supply; without it such a line is refused.
    Raises `CatalogueError` when the coupler's data lack a figure that the worst case needs.
    """
    drive = driven(line)
    if drive is None:
        return _without(line, missing="the volts of the keyed line")
    model = Coupler.of(coupler or _usual_coupler(drive))
    usual = tuple(load_zeners().values()) if zeners is None else zeners
    chosen = values or choose_values(drive, logic, model, usual, tolerance)
    if chosen is None:
        return _without(line, refusal=f"{drive.on.least:g} V are too few to drive the {model.name} with any resistor")
    circuit = network(model, chosen, tolerance)
    return _worked_out(line, logic, drive, circuit, chosen, tolerance, _ripple_refusals(line, bridged))


def _usual_coupler(drive: Driven) -> Optocoupler:
    return load_optocouplers()[_ONE_WAY if drive.on.least > 0 else _BOTH_WAYS]


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
    values: OptoValues,
    tolerance: float,
    refusals: tuple[str, ...],
) -> SenseDesign:
    amps = circuit.line_amps_most(drive.on.greatest)
    loading = judge_loading(line, amps, drive.on.greatest, drive.on_ohms, circuit.series.least)
    turned = _needs_reverse_diode(circuit, drive)
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=True,
        keyed_reads_high=not drive.keyed_drives,
        parts=_parts(line, drive, circuit, values, tolerance),
        judged=(*judge_network(circuit, drive, logic, line.kick_volts), *loading, *audio_unknown(line)),
        felt=_felt(drive, circuit, turned),
        press_delay_us=1e6 * (circuit.coupler.press_s if drive.keyed_drives else _turn_off_s(circuit, logic)),
        release_delay_us=1e6 * _release_s(line, logic, drive, circuit),
        refusals=(*audio_refusals(line), *refusals),
        remarks=_remarks(turned),
        gap_us=_gap_us(line, logic, drive, circuit),
    )


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
        role = f"in series with the LED, banded end towards {'plus' if not circuit.coupler.both_ways else 'each side'}"
        parts.append(Part(role, f"zener diode {threshold.name}", middle, "V", spread, f"{threshold.watts:g} W"))
    if values.bypass_ohms is not None:
        parts.append(Part("across the LED", "resistor", values.bypass_ohms, "Ω", tolerance))
    if _needs_reverse_diode(circuit, drive):
        parts.append(Part("across the LED, turned round", "diode 1N4148", 1, "piece", 0.0, f"{drive_words(drive)}"))
    parts.append(Part("isolator", f"optocoupler {circuit.coupler.name}", 1, "piece", 0.0))
    parts.append(Part("from the output to the logic supply", "resistor", values.pull_up_ohms, "Ω", tolerance))
    return tuple(parts)


def drive_words(drive: Driven) -> str:
    """Return what the diode across the LED must carry, in words."""
    if drive.backward_volts is None:
        return "backward volts of the line not measured"
    return f"for {drive.backward_volts:g} V backwards through the series resistor"


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
    return ripple_gap_us(line.ripple, circuit.driving_volts(overdriven_led_amps(circuit, logic), source))


def _remarks(reverse_diode: bool) -> tuple[str, ...]:
    slow = "the release delay grows with the pull-up in proportion (from memory) from a printed value at 3.3 kΩ"
    if not reverse_diode:
        return (slow,)
    return (slow, "the return lead of the LEDs must not come off: through the diodes a keyed line would feed idle ones")


__all__ = ["CIRCUIT", "NO_THRESHOLD", "OptoValues", "design"]

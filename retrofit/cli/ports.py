"""`retrofit ports`: the MIDI and serial ports of this computer, and why there are none where there are none."""

from __future__ import annotations

import json

import click

from retrofit.cli.output import Exit, Stop, data, raw_data, talk
from retrofit.cli.terminal import columns, shown
from retrofit.firmware.link.serial_line import PortSeen, ports_seen
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.system import PortsSeen, look_once


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(as_json: bool) -> None:
    """List the MIDI inputs and outputs and the serial ports of this computer.

    `retrofit listen --port` takes a name of the list, or a part of one that fits no other.
    """
    serial = ports_seen()
    try:
        seen = look_once()
    except PortError as error:
        _write(PortsSeen((), (), ()), serial, as_json)
        raise Stop(Exit.FILES, str(error)) from error
    _write(seen, serial, as_json)
    _say_why_none(seen, serial)


def _write(seen: PortsSeen, serial: tuple[PortSeen, ...], as_json: bool) -> None:
    if as_json:
        raw_data(json.dumps(_content(seen, serial), indent=2) + "\n")
        return
    rows = [
        *(("MIDI in", port.name, port.back_end) for port in seen.inputs),
        *(("MIDI out", port.name, port.back_end) for port in seen.outputs),
        *(("serial", port.name, port.description) for port in serial),
    ]
    for line in columns([(kind, shown(name), shown(more)) for kind, name, more in rows]) if rows else ():
        data(line)


def _content(seen: PortsSeen, serial: tuple[PortSeen, ...]) -> dict[str, object]:
    return {
        "midi_inputs": [port._asdict() for port in seen.inputs],
        "midi_outputs": [port._asdict() for port in seen.outputs],
        "serial": [{"name": port.name, "description": port.description} for port in serial],
        "back_ends": [{"name": back_end.name, "reason": back_end.reason} for back_end in seen.back_ends],
    }


def _say_why_none(seen: PortsSeen, serial: tuple[PortSeen, ...]) -> None:
    """Say which kinds of port are missing altogether, and what each back end says of it."""
    if not seen.back_ends:
        talk("no MIDI ports: the MIDI library has no back end for this system")
    for back_end in seen.back_ends:
        if back_end.reason:
            talk(f"no MIDI ports by {back_end.name}: {back_end.reason}")
    if seen.working and not seen.inputs:
        talk("no MIDI input is there; plug the console in, and look at its lead")
    if not serial:
        talk("no serial port is there")

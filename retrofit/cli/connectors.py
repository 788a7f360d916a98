"""The connectors of a plan as text: both sides as they lie before the eye, and the list of pins."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.cli.terminal import columns, folded, shown, width
from retrofit.plan.connectors import Connector, ConnectorPin, Side, connectors
from retrofit.plan.model import ConversionPlan

_CELL = 4


def connector_lines(plan: ConversionPlan) -> Iterator[str]:
    """Yield every connector; pin 1 has brackets on both sides."""
    for connector in connectors(plan):
        yield ""
        yield from folded(f"{connector.name}: {connector.where}, {connector.group}")
        yield from _sides(connector)
        for line in columns([_row(pin) for pin in connector.pins]):
            yield from folded(line.lstrip(), "  ", "      ") if len(line) + 2 > width() else (f"  {line}",)


def _sides(connector: Connector) -> Iterator[str]:
    rows = [(side, connector.seen_from(side)) for side in (Side.MATING, Side.SOLDER)]
    wide = _CELL * len(rows[0][1][0])
    yield "  " + "   ".join(side.value.ljust(wide) for side, _ in rows).rstrip()
    for row in range(2):
        yield "  " + "   ".join("".join(_cell(pin) for pin in pins[row]) for _, pins in rows).rstrip()


def _cell(pin: ConnectorPin) -> str:
    return (f"[{pin.number}]" if pin.number == 1 else f" {pin.number}").ljust(_CELL)


def _row(pin: ConnectorPin) -> tuple[str, ...]:
    return str(pin.number), pin.signal, shown(pin.point), shown(pin.label)

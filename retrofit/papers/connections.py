"""The connections: everything between the console's wires and the board, pin by pin, to be made and ticked."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.papers.board_connections import board_sections
from retrofit.papers.chain_connections import chain_sections
from retrofit.papers.coil_notes import COIL_NOTES
from retrofit.papers.connection import Connection, Section
from retrofit.papers.csv_text import csv_text
from retrofit.papers.fitted_parts import inputs_without_values, parts_to_fit
from retrofit.papers.front_end_connections import front_end_sections
from retrofit.papers.identity import CAUTIONS, identity_remarks
from retrofit.papers.listen_connections import listen_sections
from retrofit.papers.pages import WIDTH, Block, paged
from retrofit.papers.text_cells import row, wrapped
from retrofit.plan.model import ConversionPlan

COLUMNS = ("built", "tested", "at", "pin", "signal", "goes to", "through", "group", "point", "wire as found")
_WIDTHS = (7, 4, 15, 26, 24)
_HEADS = row(("made ok", "pin", "signal", "goes to", "through, or found as"), _WIDTHS)[0]
_KEPT_WHOLE = 28
"""Lines of a section up to which it begins on the next page rather than being torn: half a page."""
_TICKS = "[ ] [ ]"


def connections_csv(plan: ConversionPlan) -> str:
    """Return the connections as CSV: a row per pin, the board first, then the chain from the nearest register on."""
    coils = (("coils", words) for words in COIL_NOTES)
    remarks = [*identity_remarks(plan, "connections"), *coils, ("to fit", to_fit_words(plan))]
    rows = (_csv_row(connection) for section in _sections(plan) for connection in section.connections)
    return csv_text(remarks, COLUMNS, rows)


def connections_text(plan: ConversionPlan) -> str:
    """Return the connections as pages of plain text, to be printed and taken to the bench."""
    blocks = (_front(plan), *(_block(section) for section in _sections(plan)))
    return paged(plan, "CONNECTIONS", _HEADS, blocks)


def to_fit_words(plan: ConversionPlan) -> str:
    """Return the count of everything that is fitted: registers, capacitors, resistors by value, and the rest."""
    counted = "; ".join(f"{number} x {words}" for number, words in parts_to_fit(plan))
    waiting = inputs_without_values(plan)
    return counted + (f"; and the parts of {waiting} inputs whose values are not known yet" if waiting else "")


def _sections(plan: ConversionPlan) -> Iterator[Section]:
    yield from board_sections(plan)
    yield from chain_sections(plan)
    yield from front_end_sections(plan)
    yield from listen_sections(plan)


def _csv_row(connection: Connection) -> tuple[str, ...]:
    return (
        "",
        "",
        connection.place,
        connection.pin,
        connection.signal,
        connection.to,
        connection.through,
        connection.group,
        connection.point,
        connection.found,
    )


def _front(plan: ConversionPlan) -> Block:
    sentences = (
        f"TO FIT: {to_fit_words(plan)}",
        f"On the board {plan.board}. Tick 'made' when soldered or crimped, 'ok' when it was tested.",
        "Supply off while a wire is made; first power stage by stage, as `retrofit plan` lists it.",
        *(f"- {words}" for words in CAUTIONS),
        "COILS",
        *(f"- {words}" for words in COIL_NOTES),
    )
    return Block(_lines(sentences))


def _block(section: Section) -> Block:
    """Return a section as a block; one that is short enough is not torn by the end of a page."""
    told = " ".join(section.heading)
    heading = _lines(section.heading)
    rows = tuple(_text_row(connection, told) for connection in section.connections)
    whole = (*heading, *(line for lines in rows for line in lines))
    return Block((), (whole,)) if len(whole) <= _KEPT_WHOLE else Block(heading, rows)


def _text_row(connection: Connection, heading: str) -> tuple[str, ...]:
    """Return a row; parts that the heading tells are not said again, and leave their place to the wire as found."""
    last = connection.found if connection.through in heading else connection.through
    return row((_TICKS, connection.pin, connection.signal, connection.to, last), _WIDTHS)


def _lines(sentences: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(line for sentence in sentences for line in wrapped(sentence, WIDTH, "  "))

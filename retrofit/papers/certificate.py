"""The test certificate of a division: every point with its outcome, what else was tested, and a line to sign on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from retrofit.papers.csv_text import csv_text
from retrofit.papers.identity import identity_remarks
from retrofit.papers.pages import WIDTH, Block, paged
from retrofit.papers.text_cells import row, wrapped
from retrofit.plan.model import ConversionPlan

CERTIFICATE_NAME = "test-certificate"
COLUMNS = ("point", "name", "outcome", "strokes", "bounces", "longest bounce ms", "latency at most ms", "remark")
_WIDTHS = (30, 10, 8, 8, 8, 8)
_HEADS = row(("point", "outcome", "strokes", "bounces", "longest", "latency"), _WIDTHS)[0]
_SIGN = (
    "readings as found and after stand above with their limits;",
    "what was not read both times is not judged",
    "",
    "date ______________  tested by ______________________  signature ______________",
)


@dataclass(frozen=True, slots=True)
class CertifiedPoint:
    """One point of a certificate; times are milliseconds, None where nothing is promised or was measured."""

    point: str
    name: str
    outcome: str
    strokes: int
    bounces: int
    longest_bounce_ms: float | None
    latency_ms_max: float | None
    remark: str


@dataclass(frozen=True, slots=True)
class Certificate:
    """What a certificate says.  `about` and `remarks` are pairs of what and words, `limits` sentences."""

    about: tuple[tuple[str, str], ...]
    points: tuple[CertifiedPoint, ...]
    remarks: tuple[tuple[str, str], ...]
    limits: tuple[str, ...]


def certificate_csv(plan: ConversionPlan, certificate: Certificate) -> str:
    """Return the certificate as CSV: a row per point; everything else stands before them."""
    remarks = [
        *identity_remarks(plan, "test certificate"),
        *certificate.about,
        *certificate.remarks,
        *(("limit", words) for words in certificate.limits),
    ]
    return csv_text(remarks, COLUMNS, map(_csv_row, certificate.points))


def _csv_row(point: CertifiedPoint) -> tuple[str, ...]:
    return (
        point.point,
        point.name,
        point.outcome,
        str(point.strokes),
        str(point.bounces),
        _ms(point.longest_bounce_ms),
        _ms(point.latency_ms_max),
        point.remark,
    )


def _ms(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


def certificate_text(plan: ConversionPlan, certificate: Certificate) -> str:
    """Return the certificate as pages."""
    return paged(plan, "Test certificate", _HEADS, _blocks(certificate))


def _blocks(certificate: Certificate) -> Iterator[Block]:
    yield Block(tuple(_pairs(certificate.about)))
    yield Block((), tuple(_text_row(point) for point in certificate.points))
    if certificate.remarks:
        yield Block(("also tested and found",), tuple(tuple(_pairs([pair])) for pair in certificate.remarks))
    yield Block(("limits",), tuple(tuple(wrapped(words, WIDTH, "  ")) for words in certificate.limits))
    yield Block(_SIGN)


def _pairs(pairs: Iterable[tuple[str, str]]) -> Iterator[str]:
    for what, words in pairs:
        yield from wrapped(f"{what}: {words}", WIDTH, "  ")


def _text_row(point: CertifiedPoint) -> tuple[str, ...]:
    cells: Sequence[str] = (
        point.name,
        point.outcome,
        str(point.strokes),
        str(point.bounces),
        _ms(point.longest_bounce_ms),
        _ms(point.latency_ms_max),
    )
    lines = row(cells, _WIDTHS)
    return (*lines, *wrapped(f"  {point.remark}", WIDTH, "  ")) if point.remark else lines

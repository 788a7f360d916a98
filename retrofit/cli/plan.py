"""`retrofit plan`: the plan as a person reads it, or as JSON."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.check import summary
from retrofit.cli.describe import debounce_words, group_sends, message_words
from retrofit.cli.jobs import open_job
from retrofit.cli.output import counted, data, raw_data, talk
from retrofit.cli.plan_json import plan_json
from retrofit.cli.plans import planned
from retrofit.cli.sensing import sensing_lines
from retrofit.cli.terminal import columns, folded, shown, width
from retrofit.plan.model import ConversionPlan, GroupPlan


@click.command()
@job_file
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
@click.option("--points", "with_points", is_flag=True, help="Also list every point with its address and message.")
def command(file: Path, as_json: bool, with_points: bool) -> None:
    """Show the plan: addresses, timing, messages, sense circuits, findings.

    Times are worst cases: from the contact's last bounce to the end of its message on an idle wire.
    """
    plan = planned(open_job(file))
    if as_json:
        raw_data(plan_json(plan))
    else:
        show_plan(plan, with_points)
    talk(f"{summary(plan.findings)}; see: retrofit check {file}")


def show_plan(plan: ConversionPlan, with_points: bool = False) -> None:
    """Write the readable summary, in lines that fit the terminal."""
    sections = (_heading(plan), _timing(plan), _messages(plan), _promises(plan), sensing_lines(plan))
    for line in [line for section in sections for line in ("", *section)][1:]:
        data(line)
    if with_points:
        for line in ("", *_points(plan)):
            data(line)
    for move in plan.moves:
        data(f"would move: {move.point}: {move.recorded} -> {move.proposed}")


def _heading(plan: ConversionPlan) -> list[str]:
    return [
        shown(plan.job.instrument.name),
        f"plan {plan.digest}  board {plan.board}  {_pace(plan)}",
        *folded(f"{counted(len(plan.points), 'point')}; {'; '.join(_read_by(plan))}"),
    ]


def _pace(plan: ConversionPlan) -> str:
    if not plan.tick_us:
        return "no tick: see the findings"
    return f"tick {plan.tick_us} µs, busy at most {plan.busy_us:.0f} µs ({100 * plan.busy_us / plan.tick_us:.0f} %)"


def _read_by(plan: ConversionPlan) -> list[str]:
    layout = plan.layout
    chain = f"{counted(layout.registers, 'register')} at {(layout.spi_hz or 0) / 1e6:g} MHz"
    return [
        *([chain] if layout.registers else []),
        *(f"matrix {m.number} of {len(m.row_pins)} x {m.columns}, settles {m.settle_us:g} µs" for m in layout.matrices),
        *(
            f"bank {bank.number} of {counted(bank.multiplexers, 'multiplexer')} with {bank.inputs} inputs, settles "
            f"{bank.settle_us:g} µs"
            for bank in layout.banks
        ),
        *(
            [f"{counted(len(layout.expanders), 'expander')} at {(layout.bus_hz or 0) / 1e3:g} kHz"]
            if layout.expanders
            else []
        ),
        f"{counted(len(layout.pins), 'board pin')} used",
        counted(len(layout.spare), "spare address"),
    ]


_COLUMNS = ("group", "by", "every", "busy", "press", "release", "debounce")


def _timing(plan: ConversionPlan) -> list[str]:
    rows = [_timing_row(group) for group in plan.groups]
    if not rows:
        return ["no timing: see the findings"]
    lines = columns([_COLUMNS, *rows])
    if max(map(len, lines)) <= width():
        return lines
    short = columns([row[:-1] for row in (_COLUMNS, *rows)])
    return [short[0], *(line for text, row in zip(short[1:], rows, strict=True) for line in (text, f"    {row[-1]}"))]


def _timing_row(group: GroupPlan) -> tuple[str, ...]:
    return (
        shown(group.id),
        group.interface,
        f"{group.period_us} µs",
        f"{group.busy_us:.0f} µs",
        _ms(group.press_latency_us_max),
        _ms(group.release_latency_us_max),
        debounce_words(group.debounce, group.period_us),
    )


def _ms(time_us: float) -> str:
    return f"{time_us / 1000:.2f} ms"


def _messages(plan: ConversionPlan) -> list[str]:
    rows = [(shown(group.id), group_sends(plan, group.id)) for group in plan.job.groups]
    indent = max(len(name) for name, _ in rows) + 2
    return [line for name, sent in rows for line in _hanging(name.ljust(indent), sent)]


def _hanging(label: str, text: str) -> list[str]:
    return folded(text, label, " " * len(label))


def _promises(plan: ConversionPlan) -> list[str]:
    """Return the guarantees, each set said once with the groups that share it."""
    shared: dict[tuple[str, ...], list[str]] = {}
    for group in plan.groups:
        shared.setdefault(group.guarantees, []).append(group.id)
    lines = []
    for guarantees, groups in shared.items():
        if guarantees:
            lines += folded(f"{', '.join(groups)}:")
            lines += [line for sentence in guarantees for line in _hanging("  - ", sentence)]
    return lines


def _points(plan: ConversionPlan) -> list[str]:
    rows = [
        (shown(p.point.id), "none" if p.address is None else str(p.address), message_words(p), shown(p.point.name))
        for p in plan.points
    ]
    return columns([("point", "address", "sends", "name"), *rows])

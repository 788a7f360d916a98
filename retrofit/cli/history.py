"""`retrofit history`: the records of proving runs, two visits compared, certificates, readings before and after."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import FILE_PATH, job_file
from retrofit.cli.history_certificate import as_found_changes, certificate_of, reading_words
from retrofit.cli.history_readings import reading_of
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, counted, data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.cli.prove_lines import outcome_lines, run_content
from retrofit.cli.terminal import columns, shown
from retrofit.cli.writing import files_or_stop
from retrofit.papers.certificate import certificate_csv, certificate_text
from retrofit.proving.records.compare import Comparison, compared
from retrofit.proving.records.errors import RecordError
from retrofit.proving.records.rows import RunRow
from retrofit.proving.records.store import RecordFile, records_path
from retrofit.survey.job import Job


@click.command()
@job_file
@click.option("--run", "number", type=int, metavar="N", help="Show how run N came out.")
@click.option("--compare", nargs=2, type=int, metavar="A B", help="Say what changed from run A to run B.")
@click.option("--certificate", type=int, metavar="N", help="Write the test certificate of run N to stdout.")
@click.option("--csv", "as_csv", is_flag=True, help="The certificate as CSV.")
@click.option(
    "--reading",
    nargs=2,
    metavar="N READING",
    help='Keep a reading with run N, as in "supply rail before 12.02 V"; kinds: supply, decay, hum.',
)
@click.option("--records", metavar="FILE", type=FILE_PATH, help="The file of records; beside the job unless said.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(file: Path, records: Path | None, as_csv: bool, as_json: bool, **asked: Any) -> None:
    """List the proving runs of a job, show one, compare two, certify one, or keep readings with one."""
    if sum(value is not None for value in asked.values()) > 1:
        raise Stop(Exit.USAGE, "--run, --compare, --certificate and --reading are asked for one at a time")
    job = open_job(file)
    path = records or records_path(file)
    with files_or_stop(RecordError), RecordFile(path, job.instrument.name, create=False) as found:
        match asked:
            case {"certificate": int(number)}:
                _certify(job, found, number, as_csv)
            case {"reading": (number, text)}:
                _keep_reading(found, number, text)
            case {"compare": (first, second)}:
                _compare(found, (first, second), as_json)
            case {"number": int(number)}:
                _show(found, _run(found, number), as_json)
            case _:
                _list(found.runs(), as_json)


def _run(file: RecordFile, number: int) -> RunRow:
    runs = file.runs()
    run = next((run for run in runs if run.number == number), None)
    if run is None:
        raise Stop(
            Exit.USAGE,
            f"there is no run {number}; there {'is' if len(runs) == 1 else 'are'} {counted(len(runs), 'run')}",
        )
    return run


def _list(runs: Sequence[RunRow], as_json: bool) -> None:
    if as_json:
        raw_data(json.dumps([run_content(run) for run in runs], indent=1, ensure_ascii=True) + "\n")
        return
    heads = ("run", "division", "began", "kind", "state", "plan", "who", "listened to")
    rows = [
        (
            str(run.number),
            run.head.division,
            run.head.began,
            str(run.head.kind),
            str(run.state),
            run.head.digest,
            shown(run.head.who),
            shown(run.head.port),
        )
        for run in runs
    ]
    for line in columns([heads, *rows]):
        data(line)


def _show(file: RecordFile, run: RunRow, as_json: bool) -> None:
    if as_json:
        content = {
            "run": run_content(run),
            "points": [asdict(point) for point in file.points(run.number)],
            "remarks": [asdict(remark) for remark in file.remarks(run.number)],
            "readings": [asdict(row) for row in file.readings(run.number)],
        }
        raw_data(json.dumps(content, indent=1, ensure_ascii=True) + "\n")
        return
    for line in outcome_lines(file.points(run.number), file.remarks(run.number)):
        data(line)
    for change in as_found_changes(file.readings(run.number)):
        data(": ".join(reading_words(change)))


def _compare(file: RecordFile, numbers: tuple[int, int], as_json: bool) -> None:
    first, second = (_run(file, number) for number in numbers)
    if first.head.division != second.head.division:
        raise Stop(
            Exit.USAGE,
            f"run {first.number} is of {first.head.division}, run {second.number} of "
            f"{second.head.division}; compare two of one division",
        )
    found = compared(file.points(first.number), file.points(second.number))
    if first.head.digest != second.head.digest:
        talk("the plan changed between the two runs: points are compared by their names")
    if as_json:
        raw_data(json.dumps(asdict(found), indent=1, ensure_ascii=True) + "\n")
        return
    _say_comparison(found)


def _say_comparison(found: Comparison) -> None:
    for change in found.changes:
        data(f"{'worse' if change.worse else 'better'}: {change.said}")
    if not found.changes:
        data("nothing changed by more than the limits")
    if found.unmatched:
        data(f"in one run alone: {', '.join(found.unmatched)}")
    for limit in found.limits:
        talk(limit)


def _certify(job: Job, file: RecordFile, number: int, as_csv: bool) -> None:
    plan = planned(job)
    certificate = certificate_of(plan, file, _run(file, number))
    raw_data((certificate_csv if as_csv else certificate_text)(plan, certificate))


def _keep_reading(file: RecordFile, number: str, text: str) -> None:
    if not number.isdecimal():
        raise Stop(Exit.USAGE, f"--reading begins with the number of a run, found {number!r}")
    run = _run(file, int(number))
    row = reading_of(text)
    file.add_reading(run.number, row)
    talk(f"run {run.number}: {row.what}, {row.place}, {row.when}: {row.value:g} {row.unit} kept")
    for change in as_found_changes(file.readings(run.number)):
        data(": ".join(reading_words(change)))

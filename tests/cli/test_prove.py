"""`retrofit prove` and `retrofit history`, from the command line to the file of records and back."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import mido
import pytest

from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop
from retrofit.cli.plans import planned
from retrofit.cli.prove_causes import causes_of
from retrofit.cli.prove_chords import chords_of
from retrofit.cli.prove_course import new_course
from retrofit.cli.prove_person import TerminalPerson
from retrofit.cli.prove_run import Asked, Outcome, refuse_unasked
from retrofit.proving.expected import expected_of
from retrofit.proving.records.outcome import remark_rows
from retrofit.proving.records.rows import Kind, RunHead, State
from retrofit.proving.records.store import RecordFile, records_path
from retrofit.proving.runs.results import result_of
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.steps import StepKind
from retrofit.proving.signature import SignatureKind
from retrofit.proving.tones import Tones
from tests.cli.conftest import Command, process, written
from tests.proving.plans import JOB, small_plan
from tests.proving.runs.players import Timed, keys, made_run, off, on, played, press, slow

KEYS = ("--only", "slow-run", "--only", "asked-for")
KEY_STEPS = (StepKind.RUN, StepKind.ASKED)
SECOND = 1_000_000


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return the job file of the small invented console."""
    return written(tmp_path / "small.toml", JOB)


def recording(path: Path, messages: list[Timed]) -> Path:
    """Write messages as a Standard MIDI File with a tick a millisecond, by mido."""
    file, track, before = mido.MidiFile(ticks_per_beat=500), mido.MidiTrack(), 0
    for at_us, message in sorted(messages, key=lambda timed: timed[0]):
        track.append(mido.Message.from_bytes(message, time=(at_us - before) // 1000))
        before = at_us
    file.tracks.append(track)
    file.save(path)
    return path


@pytest.fixture
def healthy(tmp_path: Path) -> Path:
    """Return a recording in which every key is played."""
    return recording(tmp_path / "healthy.mid", slow(keys(), SECOND))


def bouncing(tmp_path: Path, bounces: int) -> Path:
    """Return a recording in which one key goes on again so many times, a millisecond apart."""
    note_on, note_off = press(0, 36)
    edges = [(3000 + place * 1000, (note_off, note_on)[place % 2][1]) for place in range(2 * bounces)]
    return recording(
        tmp_path / f"b{bounces}.mid",
        [(at + 30 * SECOND, m) for at, m in [note_on, *edges, note_off]] + slow(keys(36), SECOND),
    )


def test_a_healthy_division_passes_and_is_kept(retrofit: Command, job: Path, healthy: Path) -> None:
    """Cautions and course on stderr, a row per point on stdout, exit 0, and the run stands in the record."""
    ended = retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS, "--who", "Tester")
    assert ended.code == Exit.OK
    assert "caution: turn the amplifier down first" in ended.err
    assert "next great C#2 (37)" in ended.err
    assert ended.out.count("passed") == len(keys())
    assert "great: the steps that were asked for have passed; without --only" in ended.err
    with RecordFile(records_path(job), "Invented for tests", create=False) as file:
        (run,) = file.runs()
        assert (run.head.who, run.head.port, run.state) == ("Tester", "recording healthy.mid", State.FINISHED)
        assert len(file.points(1)) == len(keys()) + 1


def test_a_division_that_has_passed_in_all_its_steps_may_be_marked_as_proven(
    retrofit: Command, job: Path, tmp_path: Path
) -> None:
    """Silence, a slow run and a fast one: the outcome says how that is kept in the job."""
    runs = [*slow(keys(), 10 * SECOND), *slow(keys(), 40 * SECOND)]
    whole = recording(tmp_path / "whole.mid", runs)
    ended = retrofit("prove", job, "--division", "great", "--replay", whole, "--soak", "0")
    assert ended.code == Exit.OK, ended.err
    assert f"retrofit record {job} --proven great" in ended.err


def test_a_named_cause_fails_a_division_of_which_every_key_was_heard() -> None:
    """A run without a fault in its points, and a diagnosis that names one: that is no pass."""
    run = made_run("great", KEY_STEPS)
    played(run, slow(keys(), SECOND))
    result = result_of(run, "great")
    assert not Outcome(result, ()).failed
    assert Outcome(result, ("a wire is cut",)).failed


def test_what_fails_ends_the_command_with_1(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """A message of no point fails the division; the outcome is on stdout as JSON."""
    played = recording(tmp_path / "stray.mid", [*slow(keys(), SECOND), (2_500_000, b"\x99\x30\x40")])
    ended = retrofit("prove", job, "--division", "great", "--replay", played, *KEYS, "--json")
    assert ended.code == Exit.PROBLEMS
    content = json.loads(ended.out)
    assert content["failed"] is True
    assert {"what": "of no point", "subject": "99 30", "words": "1 times"} in content["remarks"]
    assert content["run"]["kind"] == "replay"


def test_a_cause_is_named_and_kept() -> None:
    """Two joined wires, heard in the run and when asked for: their keys are named, and stand among the remarks."""
    pair = (44, 45)
    notes = [pair if note in pair else (note,) for note in keys()]
    joined = [timed for place, together in enumerate(notes) for timed in press((place + 1) * SECOND, *together)]
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    played(run, joined, lambda say: press(0, *pair) if say.words.startswith("press ") else [])
    causes = causes_of(small_plan(), run, "great")
    assert "great G#2 (44)" in causes[0]
    assert "great A2 (45)" in causes[0]
    assert "look first: " in causes[0]
    kept = remark_rows(result_of(run, "great"), causes)
    assert [row.words for row in kept if row.what == "cause"] == list(causes)


def test_chatter_is_told_in_the_outcome() -> None:
    """Six strokes with two further ons over 16 ms each: the counts name the key and chatter; no other is named."""
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    stroke_ms = (0, 4, 8, 12, 16, 100)
    edges = [
        ((2 + stroke) * SECOND + at_ms * 1000, (on, off)[place % 2](40))
        for stroke in range(6)
        for place, at_ms in enumerate(stroke_ms)
    ]
    played(run, [*edges, *slow(keys(40), 10 * SECOND)])
    told = [(row.what, row.subject) for row in remark_rows(result_of(run, "great"))]
    assert told == [(SignatureKind.CHATTER, "great.40")]


def test_a_port_that_is_not_there_ends_in_words(retrofit: Command, job: Path, healthy: Path) -> None:
    """For tones as for listening: the name is said, exit 3."""
    for arguments in (("--replay", healthy, "--tones", "no such port"), ("--serial", "/dev/no-such-line")):
        ended = retrofit("prove", job, "--division", "great", *KEYS, *arguments)
        assert ended.code == Exit.FILES
        assert str(arguments[-1]) in ended.err


def test_a_healthy_run_has_no_cause() -> None:
    """Nobody is accused of anything."""
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    played(run, slow(keys(), SECOND))
    assert causes_of(small_plan(), run, "great") == ()
    assert remark_rows(result_of(run, "great")) == ()


def test_the_chords_of_a_matrix_become_steps_of_its_division(gutted: Path) -> None:
    """Every chord of the demo's matrix is held by points that the run expects, and every ghost leads to its diodes."""
    plan = planned(open_job(gutted))
    (tests,) = chords_of(plan, "lower").values()
    known = {point.id for point in expected_of(plan).contacts}
    assert len(tests) == 9
    assert all("lower.52" not in test.points for test in tests), "known to stay closed, and muted"
    for test in tests:
        assert known.issuperset(test.points)
        for ghosts, suspects in test.ghosts.items():
            assert ghosts.isdisjoint(test.points)
            assert known.issuperset(ghosts)
            assert set(suspects) <= set(test.points)
            assert test.suspects(ghosts) == suspects
    assert chords_of(plan, "upper") == {}


def test_what_was_not_tried_is_not_proven(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """A recording that lacks a key fails nobody, and ends with 1 all the same."""
    ended = retrofit(
        "prove", job, "--division", "great", "--replay", recording(tmp_path / "r.mid", slow(keys(44), SECOND)), *KEYS
    )
    assert ended.code == Exit.PROBLEMS
    assert "not everything was tried" in ended.err
    assert "failed" not in ended.out


def test_a_run_that_did_not_finish_is_offered_and_resumed(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """The second recording brings the missing key; together they are one run that passes."""
    first = recording(tmp_path / "first.mid", slow(keys(44), SECOND))
    second = recording(tmp_path / "second.mid", press(2 * SECOND, 44))
    arguments = ("prove", job, "--division", "great", *KEYS)
    retrofit(*arguments, "--replay", first)
    assert "run 1 over great did not finish; --resume goes on with it" in retrofit(*arguments, "--replay", first).err
    ended = retrofit(*arguments, "--replay", second, "--resume")
    assert ended.code == Exit.OK
    assert ended.out.count("passed") == len(keys())
    assert retrofit(*arguments, "--replay", second, "--resume").code == Exit.USAGE


def test_a_run_of_another_plan_is_not_resumed(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """When the plan changed meanwhile, both digests are said."""
    arguments = (
        "prove",
        job,
        "--division",
        "great",
        *KEYS,
        "--replay",
        recording(tmp_path / "r.mid", slow(keys(44), SECOND)),
    )
    retrofit(*arguments)
    written(job, JOB.replace("channel = 2", "channel = 5"))
    ended = retrofit(*arguments, "--resume")
    assert ended.code == Exit.PROBLEMS
    assert "begin a new run" in ended.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--division", "grate"), "did you mean 'great'?"),
        ((), "which division? --division is one of great, swell, console"),
        (("--division", "great", "--only", "shoes"), "great has no step of that kind"),
        (("--division", "great", "--soak", "-1"), "--soak"),
    ],
)
def test_wrong_calls_are_answered(
    retrofit: Command, job: Path, healthy: Path, arguments: tuple[str, ...], words: str
) -> None:
    """Each with what is allowed, and exit code 2."""
    ended = retrofit("prove", job, "--replay", healthy, *arguments)
    assert ended.code == Exit.USAGE
    assert words in ended.err


def test_a_recording_that_is_none_ends_in_words(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """Missing, noise, cut short: named, exit 3, no traceback."""
    noise = tmp_path / "noise.mid"
    noise.write_bytes(b"MThd noise")
    for path in (tmp_path / "none.mid", noise):
        ended = retrofit("prove", job, "--division", "great", "--replay", path)
        assert ended.code == Exit.FILES
        assert str(path) in ended.err


def test_a_live_run_takes_no_condition_for_granted(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody can be asked and --ready is not said, nothing begins and nothing is recorded."""
    monkeypatch.setattr("sys.stdin", Path("/dev/null").open(encoding="utf-8"))  # noqa: SIM115  # lives as long as the test
    asked = Asked(job, "great", "", ready=False, resume=False, only=(), soak_minutes=0, as_json=False)
    with pytest.raises(Stop, match="--ready says that they are"):
        refuse_unasked(asked, new_course(small_plan(), "great", (), 0, ask=True))


def test_records_of_another_job_and_damaged_ones_are_named(
    retrofit: Command, job: Path, healthy: Path, tmp_path: Path
) -> None:
    """Neither is written to; exit 3."""
    other = tmp_path / "other.sqlite3"
    with RecordFile(other, "Another"):
        pass
    noise = written(tmp_path / "noise.sqlite3", "no database " * 200)
    for path, words in ((other, "'Another' found"), (noise, "damaged or no record")):
        before = path.read_bytes()
        ended = retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS, "--records", path)
        assert ended.code == Exit.FILES
        assert words in ended.err
        assert path.read_bytes() == before


def test_history_lists_shows_compares_and_certifies(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """Two visits: the contact that went from 2 to 9 bounces is named; the certificate has it and a line to sign on."""
    for bounces in (2, 9):
        retrofit("prove", job, "--division", "great", "--replay", bouncing(tmp_path, bounces), *KEYS)
    assert retrofit("history", job).out.count("finished") == 2
    assert "great C2 (36)" in retrofit("history", job, "--run", 2).out
    ended = retrofit("history", job, "--compare", 1, 2)
    assert ended.out == "worse: great C2 (36) went from 2 to 9 bounces (1 and 1 strokes)\n"
    assert "differences of up to 2 bounces" in ended.err
    page = retrofit("history", job, "--certificate", 2)
    assert page.code == Exit.OK
    assert "signature" in page.out
    assert "great C2 (36)" in retrofit("history", job, "--certificate", 2, "--csv").out


def test_readings_before_and_after_stand_on_the_certificate(retrofit: Command, job: Path, healthy: Path) -> None:
    """A supply that sank by 2 % fails its limit of 1 %, and the certificate says so."""
    retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    retrofit("history", job, "--reading", "1", "supply key rail before 12.00 V")
    ended = retrofit("history", job, "--reading", "1", "supply key rail after 11.76 V")
    assert "12 V before, 11.76 V after: -2.00%, within 1%: failed" in ended.out
    assert "-2.00%" in retrofit("history", job, "--certificate", 1).out


@pytest.mark.parametrize(
    "reading",
    [
        "supply",
        "volume rail before 1 V",
        "supply rail then 1 V",
        "supply rail before nan V",
        "hum out after 0 mV",
        "supply rail after 12 mV",
    ],
)
def test_a_reading_that_is_none_is_refused(retrofit: Command, job: Path, healthy: Path, reading: str) -> None:
    """Each part is looked at; an example is given."""
    retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    ended = retrofit("history", job, "--reading", "1", reading)
    assert ended.code == Exit.USAGE
    assert "supply rail before 12.02 V" in ended.err


def test_history_without_records_and_with_unknown_runs(retrofit: Command, job: Path, healthy: Path) -> None:
    """Said in words, with the exit code of a file and of a wrong call."""
    ended = retrofit("history", job)
    assert ended.code == Exit.FILES
    assert "there are no records yet" in ended.err
    retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    assert retrofit("history", job, "--run", 7).code == Exit.USAGE
    assert retrofit("history", job, "--run", 1, "--certificate", 1).code == Exit.USAGE


def test_a_certificate_of_a_plan_that_is_no_more_is_refused(retrofit: Command, job: Path, healthy: Path) -> None:
    """It would certify what is no longer built."""
    retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    written(job, JOB.replace("channel = 2", "channel = 5"))
    ended = retrofit("history", job, "--certificate", 1)
    assert ended.code == Exit.PROBLEMS
    assert "would certify nothing" in ended.err


def test_a_rehearsal_and_an_interrupted_run_certify_nothing(retrofit: Command, job: Path) -> None:
    """Neither is a proof; what to do is said."""
    head = RunHead("great", small_plan().digest, Kind.REHEARSAL, "a console in software", "", "", "{}")
    with RecordFile(records_path(job), "Invented for tests") as file:
        file.begin_run(head)
        file.begin_run(replace(head, kind=Kind.LIVE))
    for number, words in ((1, "is a rehearsal"), (2, "has no outcome")):
        ended = retrofit("history", job, "--certificate", number)
        assert ended.code == Exit.PROBLEMS
        assert words in ended.err


def test_history_speaks_json(retrofit: Command, job: Path, healthy: Path) -> None:
    """The list, one run and a comparison, for other programs."""
    for _ in range(2):
        retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    assert [run["number"] for run in json.loads(retrofit("history", job, "--json").out)] == [1, 2]
    shown = json.loads(retrofit("history", job, "--run", 1, "--json").out)
    assert {point["verdict"] for point in shown["points"]} == {"passed", "excused"}
    assert json.loads(retrofit("history", job, "--compare", 1, 2, "--json").out)["changes"] == []


def test_how_far_the_division_has_come_is_said(retrofit: Command, job: Path, healthy: Path) -> None:
    """A planned one may still move; a wired one is said to be wired."""
    arguments = ("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    assert "great is planned in the job, not wired" in retrofit(*arguments).err
    written(job, JOB.replace('id = "great"\nchannel', 'id = "great"\nprogress = "wired"\nchannel'))
    assert "great is wired in the job\n" in retrofit(*arguments).err


def test_a_record_of_ours_can_be_replayed(retrofit: Command, job: Path, healthy: Path, tmp_path: Path) -> None:
    """The messages of a kept run make the same outcome again, in another file of records."""
    first = retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    again = retrofit(
        "prove",
        job,
        "--division",
        "great",
        "--replay",
        records_path(job),
        *KEYS,
        "--records",
        tmp_path / "again.sqlite3",
    )
    assert (again.code, again.out) == (Exit.OK, first.out)


def test_names_of_a_person_cannot_move_the_cursor(retrofit: Command, job: Path, healthy: Path) -> None:
    """What somebody is called is escaped wherever it goes."""
    retrofit("prove", job, "--division", "great", "--replay", healthy, *KEYS, "--who", "A\x1b[2JB")
    for arguments in (("--certificate", 1), (), ("--run", 1)):
        assert "\x1b" not in retrofit("history", job, *arguments).out


def test_the_whole_command_in_a_process_of_its_own(job: Path, healthy: Path) -> None:
    """Results on stdout, talk on stderr, no traceback, exit code 0."""
    ended = process("prove", job, "--division", "great", "--replay", healthy, *KEYS)
    assert ended.returncode == Exit.OK
    assert "caution" not in ended.stdout
    assert "Traceback" not in ended.stderr


def test_the_person_hears_words_and_tones(capsys: pytest.CaptureFixture[str]) -> None:
    """What is said goes to stderr with a sign and to the output as a tone that ends."""
    sent: list[bytes] = []
    now_us = [0]
    person = TerminalPerson(lambda: now_us[0], Tones(sent.append), may_type=False)
    person.say(Say("well done", Sound.PASS))
    now_us[0] = SECOND
    assert person.words() == []
    assert capsys.readouterr().err == "[+] well done\n"
    assert [message[0] & 0xF0 for message in sent] == [0x90, 0x80]

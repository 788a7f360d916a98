"""The test tune, read by three independent readers of Standard MIDI Files."""

from __future__ import annotations

from io import BytesIO

import mido
import music21
import pretty_midi
import pytest

from retrofit.cli.plans import planned
from retrofit.papers.tune import TICKS_PER_BEAT, tune_file
from retrofit.plan.model import ConversionPlan
from tests.plan.topologies.consoles import demo_job
from tests.writer.plans import bench_plan

PLANS = [bench_plan(), *(planned(demo_job(name)) for name in ("gutted_home", "theatre"))]


def read(plan: ConversionPlan) -> mido.MidiFile:
    """Return the tune as mido reads it."""
    return mido.MidiFile(file=BytesIO(tune_file(plan)), charset="utf-8")


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.job.instrument.name[:9])
def test_every_message_of_the_plan_is_in_it_once(plan: ConversionPlan) -> None:
    """All that contacts send is there, no more and no less; each shoe goes from closed to open."""
    wanted = [m for p in plan.points if p.message is not None for m in (p.message.on, p.message.off) if m]
    shoes = {(p.shoe.channel - 1, p.shoe.controller) for p in plan.points if p.shoe is not None}
    fine = {(p.shoe.channel - 1, p.shoe.controller + 32) for p in plan.points if p.shoe is not None and p.shoe.bits > 7}
    found = [m for track in read(plan).tracks for m in track if not m.is_meta]
    swept = [m for m in found if m.type == "control_change" and (m.channel, m.control) in shoes | fine]
    others = [bytes(m.bytes()) for m in found if m not in swept]
    assert sorted(others) == sorted(wanted)
    for channel, controller in shoes:
        values = [m.value for m in swept if (m.channel, m.control) == (channel, controller)]
        assert values == sorted(values)
        assert (values[0], values[-1]) == (0, 127)


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.job.instrument.name[:9])
def test_divisions_play_one_after_the_other(plan: ConversionPlan) -> None:
    """There is a track for each, with its name, and none begins before the one before it has ended."""
    first, *tracks = read(plan).tracks
    assert plan.digest in first.name
    names = [division.name or division.id for division in plan.job.divisions]
    assert [track.name for track in tracks] == names
    ended = 0
    for track in tracks:
        times = [message.time for message in track if not message.is_meta]
        if times:
            assert times[0] >= ended
            ended = sum(times)


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.job.instrument.name[:9])
def test_other_readers_hear_the_same_notes(plan: ConversionPlan) -> None:
    """pretty_midi and music21 find as many notes as keys send, a quarter of a second each."""
    sends = [p for p in plan.points if p.message is not None and p.message.on[:1] and p.message.on[0] & 0xF0 == 0x90]
    heard = [note for part in pretty_midi.PrettyMIDI(BytesIO(tune_file(plan))).instruments for note in part.notes]
    assert sorted(note.pitch for note in heard) == sorted(p.message.on[1] for p in sends if p.message)
    assert all(note.end - note.start == pytest.approx(0.25) for note in heard)
    score = music21.midi.MidiFile()
    score.readstr(tune_file(plan))
    assert score.ticksPerQuarterNote == TICKS_PER_BEAT
    ons = [event for track in score.tracks for event in track.events if event.isNoteOn()]
    assert sorted(event.pitch for event in ons if event.pitch is not None) == sorted(note.pitch for note in heard)


def test_the_same_plan_gives_the_same_bytes() -> None:
    """Nothing of the day or the machine is in it, and no name of a user's breaks it."""
    assert tune_file(PLANS[0]) == tune_file(PLANS[0])
    plan = bench_plan()
    job = plan.job.model_copy(update={"instrument": plan.job.instrument.model_copy(update={"name": "Ω\x1b[31m\n"})})
    assert "Ω\\x1b[31m\\n" in read(bench_plan(job)).tracks[0].name

"""A demo job on the ATmega32U4, whose few pins leave the chain of registers and the converter channels."""

from __future__ import annotations

from retrofit.survey.instrument import MidiOut
from retrofit.survey.job import Job
from retrofit.survey.wishes import Interface
from tests.emulator.demos import prompt_job

BOARD = "atmega32u4"


def on_small_board(job: Job) -> Job:
    """Return a job with the small board, MIDI by USB, and every group of contacts on the chain."""
    wanted = job.wanted.model_copy(update={"board": BOARD, "midi_out": MidiOut.USB})
    groups = tuple(
        group.model_copy(update={"wanted": group.wanted.model_copy(update={"interface": Interface.CHAIN})})
        for group in job.groups
    )
    return job.model_copy(update={"wanted": wanted, "groups": groups})


def small_job(name: str) -> Job:
    """Return a demo job on the small board, soon ready after power-on."""
    return on_small_board(prompt_job(name))

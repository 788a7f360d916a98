"""The page that lies beside a sketch: what it is, how to load it, and what to be careful about."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

from retrofit.firmware.escape import shorten, visible
from retrofit.firmware.midi_words import midi_sentences
from retrofit.firmware.project_files import PLATFORMIO_FILE_NAME, SKETCH_PROJECT_FILE_NAME
from retrofit.plan.model import ConversionPlan

ABOUT_FILE_NAME = "ABOUT-THIS-SKETCH.txt"
_LINE_LENGTH = 96

_CAUTIONS = (
    "Unplug the console before you open it; a switch is not isolation.",
    "Only low-voltage lines belong on this board. Mains work is for people licensed for it, as local law says.",
    "Turn the amplifier down before the first start: a wrong line can sound everything at once.",
    "A computer joins the board to earth. Where original circuits stay, connect it across rated isolation only.",
)


def about_text(plan: ConversionPlan, name: str, notes: Sequence[str] = ()) -> str:
    """Return the text for the sketch called `name`, with sentences about its table; same plan, same text."""
    contacts = sum(lane.used.bit_count() for lane in plan.layout.lanes)
    identity = (
        f"Job:     {visible(shorten(plan.job.instrument.name))}\n"
        f"Digest:  {plan.digest}\n"
        f"Board:   {plan.board}\n"
        f"Reads:   {contacts} contacts in {len(plan.layout.lanes)} bytes; one tick is {plan.tick_us} us\n"
    )
    midi = (visible(sentence) for sentence in midi_sentences(plan))
    said = (*_steps(name), *map(_paragraph, (*midi, *notes)), *_cautions())
    return "\n".join((f"{name}: firmware of one console\n", identity, *said))


def _steps(name: str) -> tuple[str, ...]:
    return (
        _paragraph(
            f"To load it: open {name}.ino in the Arduino IDE, choose the board, and upload. "
            "Keep all files of this folder together under this folder's name."
        ),
        _paragraph(
            f"{SKETCH_PROJECT_FILE_NAME} names the board for the Arduino command line, {PLATFORMIO_FILE_NAME} for "
            "PlatformIO; the port is yours to choose. These two files are in the formats of those tools and are "
            "checked as such, but this firmware was not built by those two tools."
        ),
        _paragraph(
            "Debian's packaged AVR core (arduino-core-avr) expects a newer compiler than Debian's gcc-avr: with these "
            "two give the compiler the extra flag -DDECIMAL_DIG=9, or it stops in the core's own WString.cpp. "
            "The sketch is not at fault."
        ),
        _paragraph(
            "Do not edit the files here: a build does not overwrite an edited file. "
            "Change the job file and build again. The digest above also stands on the papers and in the board; "
            "when two of them differ, they are not of one plan."
        ),
    )


def _cautions() -> tuple[str, ...]:
    return ("Be careful:", "".join(_paragraph(caution, "  - ", "    ") for caution in _CAUTIONS))


def _paragraph(text: str, first: str = "", rest: str = "") -> str:
    return fill(text, _LINE_LENGTH, initial_indent=first, subsequent_indent=rest) + "\n"

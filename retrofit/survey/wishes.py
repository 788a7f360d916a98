"""What is wanted of a group or a point: interface, sensing, debounce and message.  Absent means: propose a default."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from retrofit.survey.base import Channel, Note, Record, SevenBit
from retrofit.survey.problems import ProblemKind, RefusedValueError


class Interface(StrEnum):
    """How points reach the controller."""

    CHAIN = "chain"
    MATRIX = "matrix"
    PINS = "pins"
    MULTIPLEXER = "multiplexer"
    EXPANDER = "expander"
    LISTEN = "listen"


class MatrixDrive(StrEnum):
    """What becomes of the rows of a matrix that are not being read: they float, or they are driven high."""

    FLOATING = "floating"
    PUSH_PULL = "push-pull"


class Sense(StrEnum):
    """How a line becomes a logic level.

    `pull-up`: contact to our ground, closed reads low.  `pull-down`: contact to our supply, closed reads high.
    `optocoupler`: isolated, keyed reads low.  `divider`: high-impedance divider, higher volts read high.
    `offset-divider`: a divider to a reference, for lines below our ground.  `comparator`: a threshold between the
    states.  `spike-rated`: a divider that bears the kick of a coil.  `sensor`: one of ours that touches no circuit.
    """

    PULL_UP = "pull-up"
    PULL_DOWN = "pull-down"
    OPTOCOUPLER = "optocoupler"
    DIVIDER = "divider"
    OFFSET_DIVIDER = "offset-divider"
    COMPARATOR = "comparator"
    SPIKE_RATED = "spike-rated"
    SENSOR = "sensor"
    UNKNOWN = "unknown"


class TapMeans(StrEnum):
    """By what a line that the organ owns is touched; all three come off again and leave no mark."""

    SPRING_HOOK = "spring-hook"
    RING = "ring"
    ADAPTOR = "adaptor"


class DebounceFamily(StrEnum):
    """The four families the firmware knows."""

    FIRST_EDGE = "first-edge"
    CONSECUTIVE = "consecutive"
    ASYMMETRIC = "asymmetric"
    INTEGRATOR = "integrator"


class DebounceWish(Record):
    """A wished debounce: milliseconds of hold-off (first edge), of agreeing samples, or of lead (integrator)."""

    family: DebounceFamily
    hold_ms: Annotated[float, Field(gt=0, le=100)] | None = None
    press_ms: Annotated[float, Field(gt=0, le=100)] | None = None
    release_ms: Annotated[float, Field(gt=0, le=100)] | None = None


class MessageKind(StrEnum):
    """What a point sends."""

    NOTE = "note"
    CONTROLLER = "controller"
    PROGRAM = "program"


class Message(Record):
    """The message of one point: exactly one of note, controller or program, with an optional own channel."""

    note: Note | None = None
    controller: SevenBit | None = None
    program: SevenBit | None = None
    channel: Channel | None = None

    @model_validator(mode="after")
    def _at_most_one(self) -> Message:
        given = [name for name in ("note", "controller", "program") if getattr(self, name) is not None]
        if len(given) > 1:
            found = " and ".join(given)
            raise RefusedValueError(
                ProblemKind.CONTRADICTION, found, "one kind of message for a point", "keep one of them"
            )
        return self


class GroupWish(Record):
    """What is wanted of a group of contacts; `matrix_precharge` left out lets the plan choose."""

    interface: Interface | None = None
    sense: Sense = Sense.UNKNOWN
    tap: TapMeans = TapMeans.SPRING_HOOK
    keyed_reads_high: bool | None = None
    channel: Channel | None = None
    message: MessageKind | None = None
    first_number: SevenBit | None = None
    debounce: DebounceWish | None = None
    matrix_columns: Annotated[int, Field(ge=2, le=8)] = 8
    matrix_drive: MatrixDrive = MatrixDrive.FLOATING
    matrix_precharge: bool | None = None
    multiplexer_inputs: Literal[8, 16] = 16

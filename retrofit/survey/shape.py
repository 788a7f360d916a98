"""The shape of a file against the models: every departure from it, said in our words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from retrofit.survey.faults import Fault
from retrofit.survey.problems import ProblemKind, RefusedValueError, did_you_mean, listed, shown
from retrofit.survey.toml_lines import Path

_TYPES = {
    "bool": "true or false",
    "date": "a date such as 2026-02-14",
    "dict": "a table",
    "float": "a number",
    "finite": "a number",
    "int": "a whole number",
    "model": "a table",
    "string": "text in quotes",
    "tuple": "a list in square brackets",
}
"""What is allowed, by the first word of the type of error."""

_LIMITS = {
    "greater_than_equal": ("ge", "at least"),
    "greater_than": ("gt", "more than"),
    "less_than_equal": ("le", "at most"),
    "less_than": ("lt", "less than"),
}
_LENGTHS = {
    "too_short": ("min_length", "at least"),
    "too_long": ("max_length", "at most"),
    "string_too_short": ("min_length", "at least"),
    "string_too_long": ("max_length", "at most"),
}


def shape_faults(error: ValidationError, model: type[BaseModel], data: Mapping[str, Any]) -> list[Fault]:
    """Return what `error` says of `data` as faults."""
    details = error.errors(include_url=False)
    return [fault for detail in details for fault in _faults(detail, model, data)]


def _faults(detail: ErrorDetails, model: type[BaseModel], data: Mapping[str, Any]) -> Iterator[Fault]:
    path = data_path(detail["loc"])
    kind, found, context = detail["type"], detail["input"], detail.get("ctx", {})
    if kind == "value_error":
        yield _refused(path, found, context["error"])
    elif kind == "missing":
        yield _missing(path, model, data)
    elif kind == "extra_forbidden":
        yield _unknown_key(path, model, data)
    elif kind.startswith("union_tag"):
        yield from _unknown_kind(path, found, model)
    elif kind in ("enum", "literal_error"):
        yield _unknown_word(path, found, context["expected"])
    elif kind in _LIMITS:
        key, words = _LIMITS[kind]
        yield Fault(ProblemKind.OUT_OF_RANGE, path, shown(found), f"{words} {context[key]:g}")
    elif kind in _LENGTHS:
        yield from _wrong_length(path, found, kind, context)
    else:
        allowed = _TYPES.get(kind.split("_")[0], "a value of another type")
        yield Fault(ProblemKind.WRONG_TYPE, path, shown(found), allowed)


def data_path(loc: tuple[int | str, ...]) -> Path:
    """Return where `loc` points in the data: below a group the models add its kind, which the file does not have."""
    in_group = len(loc) > 2 and loc[0] == "groups"
    return (*loc[:2], *loc[3:]) if in_group else loc


def _refused(path: Path, found: object, error: ValueError) -> Fault:
    if isinstance(error, RefusedValueError):
        return Fault(error.kind, path, error.found, error.allowed, error.remedy)
    return Fault(ProblemKind.NOT_UNDERSTOOD, path, shown(found), str(error))


def _missing(path: Path, model: type[BaseModel], data: Mapping[str, Any]) -> Fault:
    key = str(path[-1])
    annotation = _model_at(model, path[:-1], data).model_fields[key].annotation
    table = f"[[{key}]]" if get_origin(annotation) is tuple else f"[{key}]"
    remedy = f"add {table}" if any(_models(annotation)) else f"add '{key} = …'"
    return Fault(ProblemKind.MISSING_KEY, path, "nothing", "a value, for it is needed", remedy)


def _unknown_key(path: Path, model: type[BaseModel], data: Mapping[str, Any]) -> Fault:
    known = list(_model_at(model, path[:-1], data).model_fields)
    remedy = did_you_mean(path[-1], known) or "delete it"
    return Fault(ProblemKind.UNKNOWN_KEY, path, f"the unknown key {shown(path[-1])}", listed(known, 40), remedy)


def _unknown_kind(path: Path, found: object, model: type[BaseModel]) -> Iterator[Fault]:
    kinds = _kinds(model.model_fields[str(path[0])].annotation)
    word = found.get("kind") if isinstance(found, dict) else found
    if isinstance(found, dict) and "kind" not in found:
        yield Fault(ProblemKind.MISSING_KEY, (*path, "kind"), "nothing", listed(kinds), "add 'kind = …'")
    else:
        yield Fault(ProblemKind.UNKNOWN_KIND, (*path, "kind"), shown(word), listed(kinds), did_you_mean(word, kinds))


def _unknown_word(path: Path, found: object, expected: str) -> Fault:
    words = [word.strip("'") for part in expected.split(", ") for word in part.split(" or ")]
    return Fault(ProblemKind.UNKNOWN_WORD, path, shown(found), listed(words, 40), did_you_mean(found, words))


def _wrong_length(path: Path, found: object, kind: str, context: Mapping[str, Any]) -> Iterator[Fault]:
    key, words = _LENGTHS[kind]
    limit = context[key]
    if isinstance(found, list | tuple) and len(found) >= limit and kind == "too_short":
        return  # its members are there, each with a fault of its own
    what = "character" if isinstance(found, str) else "member"
    size = _counted(len(found), what) if isinstance(found, str | list | tuple) else shown(found)
    yield Fault(ProblemKind.WRONG_LENGTH, path, size, f"{words} {_counted(limit, what)}")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _model_at(model: type[BaseModel], path: Path, data: Any) -> type[BaseModel]:
    """Return the model of the table that stands at `path` of the data."""
    candidates, names_member = [model], False
    for step in path:
        if isinstance(step, str) and not names_member:
            annotation = _of_kind(candidates, data).model_fields[step].annotation
            candidates = list(_models(annotation))
            names_member = get_origin(annotation) is dict
        else:
            names_member = False
        data = data[step]
    return _of_kind(candidates, data)


def _of_kind(candidates: list[type[BaseModel]], data: Any) -> type[BaseModel]:
    """Return the model that the data's own word `kind` chooses, else the only one."""
    kind = data.get("kind") if isinstance(data, dict) else None
    return next((model for model in candidates if kind in _own_kinds(model)), candidates[0])


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    """Yield every model that an annotation speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) is Annotated:
        yield from _models(get_args(annotation)[0])
    else:
        for part in get_args(annotation):
            yield from _models(part)


def _own_kinds(model: type[BaseModel]) -> tuple[str, ...]:
    field = model.model_fields.get("kind")
    return get_args(field.annotation) if field else ()


def _kinds(annotation: Any) -> list[str]:
    return [kind for model in _models(annotation) for kind in _own_kinds(model)]

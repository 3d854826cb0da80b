"""Plain data to a pydantic model, or problems with the line and the remedy."""

from __future__ import annotations

import difflib
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from firststart.errors import Problem
from firststart.procedure.reader import Document, Path

_M = TypeVar("_M", bound=BaseModel)


def model_of(model: type[_M], document: Document, path: Path, data: Any, problems: list[Problem]) -> _M | None:
    """`data` (found at `path`) as a `model`, or None after adding every problem to `problems`."""
    if not isinstance(data, dict):
        problems.append(document.problem(path, f"a mapping is needed here, not {type(data).__name__}"))
        return None
    try:
        return model.model_validate(data)
    except ValidationError as error:
        for item in error.errors():
            problems.append(_problem(model, document, path, item))
        return None


def _problem(model: type[BaseModel], document: Document, path: Path, item: Any) -> Problem:
    location = tuple(part for part in item["loc"] if part != "[key]")
    shown = ".".join(str(p) for p in location) or model.__name__.lower()
    kind = item["type"]
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(location[-1]), _keys(model), n=1)
        hint = f"; did you mean {near[0]!r}?" if near else "; remove it"
        message = f"{shown}: there is no key {location[-1]!r}{hint}"
    elif kind == "missing":
        message = f"{shown}: is missing; add it"
    elif kind == "value_error":
        message = f"{shown}: {item['ctx']['error']!s}"
    else:
        message = f"{shown}: {item['msg'][0].lower()}{item['msg'][1:]}"
    return Problem(document.file, document.line((*path, *location)), message)


def _keys(model: type[BaseModel], depth: int = 0) -> list[str]:
    """Every key a model and the models inside it know."""
    keys: list[str] = []
    for name, info in model.model_fields.items():
        keys.append(info.alias or name)
        if depth < 4:
            for inner in _models_in(info.annotation):
                keys += _keys(inner, depth + 1)
    return keys


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for arg in getattr(annotation, "__args__", ()) for m in _models_in(arg)]

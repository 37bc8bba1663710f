"""One answer at a time, judged by the rules of the job file's reader and in its words."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from pydantic import BaseModel, ValidationError, create_model

from curing.errors import Problem
from curing.sources.validation import validate
from curing.sources.yaml_nodes import Document
from curing.sources.yaml_scalars import unfit

_NOWHERE = Document("", {})


def field_fault(model: type[BaseModel], field: str, value: Any) -> str:
    """Return what is wrong with the value of one field of a part of a job file, or nothing.

    Examples
    --------
    >>> from curing.model.job import Face
    >>> field_fault(Face, "area", "10 m2"), field_fault(Face, "area", "10")
    ('', '10 has no unit; write "10 m2" or "108 ft2"')
    """
    if isinstance(value, str) and (fault := unfit(value)):
        return fault
    alone = _alone(model, field)
    try:
        alone.model_validate({field: value})
    except ValidationError:
        problems: list[Problem] = []
        validate(alone, {field: value}, _NOWHERE, (), "", problems)
        return "; ".join(problem.text.removeprefix(f"{field}: ") for problem in problems)
    return ""


@lru_cache(maxsize=64)
def _alone(model: type[BaseModel], field: str) -> type[BaseModel]:
    info = model.model_fields[field]
    made: type[BaseModel] = create_model(
        f"{model.__name__}Field",
        __config__=model.model_config,
        **{field: (info.annotation, info)},  # type: ignore[call-overload]
    )
    return made

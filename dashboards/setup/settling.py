"""From what a file leaves open to the field that settles it."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from dash import html

from dashboards.blocks.aria import data as attributes
from dashboards.blocks.fields import refused
from dashboards.setup.setup_fields import Field
from dashboards.setup.setup_questions import OCCUPANCY, WEATHER, meter_fields

Problem = Mapping[str, Any]  # as the worker tells it: `text`, `key`, `choices`
MOST_OFFERED = 12  # more are no choice at a glance


def problems_part(problems: Sequence[Problem], study: Mapping[str, Any]) -> list[Any]:
    """Each problem with the fields that settle it, and the values that it may have."""
    parts: list[Any] = []
    for problem in problems:
        parts.append(refused(problem["text"]))
        parts += [html.P(way_to(field, choices_of(problem, field))) for field in meant(problem, study)]
    if parts:
        parts.append(html.P("Then save, and read the files again.", className="muted"))
    return parts


def meant(problem: Problem, study: Mapping[str, Any]) -> list[Field]:
    """The fields of the table that the problem names, as far as it names their keys."""
    text = str(problem["text"])
    return [field for field in _table(text, study) if re.search(rf"\b{field.key}\b", text)]


def _table(text: str, study: Mapping[str, Any]) -> Sequence[Field]:
    for number, meter in enumerate(study.get("meter") or ()):
        if f"[[meter]] id = {meter.get('id')!r}" in text:
            return meter_fields(number)
    return OCCUPANCY if "[occupancy]" in text else WEATHER if "[weather]" in text else ()


def choices_of(problem: Problem, field: Field) -> Sequence[str]:
    """What may stand in the field: what the file holds, else what the key can be."""
    found = problem.get("choices") if problem.get("key") == field.key else None
    return [str(choice) for choice in found or field.offered][:MOST_OFFERED]


def way_to(field: Field, choices: Sequence[str] = ()) -> list[Any]:
    """A button that leads to the field, and one a value that fills it in."""
    there = html.Button(
        f"Go to: {field.label}", type="button", className="link", **attributes(field=field.id)
    )
    fills = [
        html.Button(
            choice,
            type="button",
            className="fill",
            title=f"{field.label}: {choice}",
            **attributes(field=field.id, value=choice),
        )
        for choice in choices
    ]
    return [" ", there, *(part for fill in fills for part in (" ", fill))]

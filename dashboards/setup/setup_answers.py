"""From what was typed on the setup page to a changed study text."""

import tomllib
from collections.abc import Mapping
from typing import Any

from dashboards.setup.seldom_questions import PARTIES, population_fields
from dashboards.setup.setup_fields import NEW, Field, at
from dashboards.setup.setup_questions import fields_of, meter_fields, zone_fields
from mv.base.errors import InputError, joined
from mv.study_file.writing import with_key, with_meter, with_population, with_zone, without_empty_table

Typed = Mapping[str, str | None]  # by the field's id
NEEDS_ITS_KEYS = ("peak", "weather")  # tables that cannot stand empty


def with_answers(text: str, typed: Typed) -> str:
    """The text with every answer that differs from it, and a new meter or zone where one is named.

    Raises InputError that lists every answer which cannot be read.
    """
    data = tomllib.loads(text)
    problems: list[InputError] = []
    for field in fields_of(data):
        answer = typed.get(field.id)
        if field.id not in typed or (answer or "").strip() == field.shown(data).strip():
            continue
        try:
            text = _with_answer(text, field, field.read(answer))
        except InputError as error:
            problems.append(error)
    for table in NEEDS_ITS_KEYS:
        text = without_empty_table(text, table)
    for party in PARTIES:
        if tomllib.loads(text).get("claim", {}).get(party) == {}:
            text = with_key(text, ("claim",), party, None)
    try:
        text = _with_new(text, typed)
    except InputError as error:
        problems.append(error)
    if problems:
        raise joined(problems)
    return text


def _with_answer(text: str, field: Field, value: Any) -> str:
    if field.kind != "hours":
        return with_key(text, field.place, field.key, value)
    place = (*field.place, field.key)
    told = at(tomllib.loads(text), place)
    for day in told:
        if day not in (value or {}):
            text = with_key(text, place, day, None)
    for day, hours in (value or {}).items():
        text = with_key(text, place, day, hours)
    return text


def _with_new(text: str, typed: Typed) -> str:
    meter = _described(typed, meter_fields(NEW), "Another meter")
    if set(meter) - {"measures"}:
        text = with_meter(text, meter)
    zone = _described(typed, zone_fields(NEW), "Another zone")
    if zone:
        meters = [str(meter.get("id")) for meter in tomllib.loads(text).get("meter") or ()]
        text = with_zone(text, {"meter": meters[0], **zone} if len(meters) == 1 else zone)
    group = _described(typed, population_fields(NEW), "Loggers that stand for more places")
    return with_population(text, group) if group else text


def _described(typed: Typed, fields: tuple[Field, ...], title: str) -> dict[str, Any]:
    """The keys of the meter or zone that was described; those of an inner table in it."""
    row: dict[str, Any] = {}
    for field in fields:
        value = field.read(typed.get(field.id))
        if value is not None and len(field.place) > 2:
            row.setdefault(str(field.place[2]), {})[field.key] = value
        elif value is not None:
            row[field.key] = value
    if row and set(row) != {"measures"} and "id" not in row:
        raise InputError("has no name", place=title, remedy="Give it one.")
    return row

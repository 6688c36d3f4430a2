"""From what was typed on the setup page to a changed study text."""

import tomllib
from collections.abc import Mapping
from typing import Any

from dashboards.setup_fields import NEW, PERIODS, PROMISE, SITE, USE, Field, meter_fields, zone_fields
from mv.base.errors import InputError, joined
from mv.study_writing import with_key, with_zone

Typed = Mapping[str, str | None]  # by the field's id


def fields_of(data: Mapping[str, Any]) -> list[Field]:
    """Every question about what the file holds."""
    asked = [*SITE, *PERIODS, *PROMISE, *USE]
    for number in range(len(data.get("meter") or ())):
        asked += meter_fields(number)
    for number in range(len(data.get("zone") or ())):
        asked += zone_fields(number)
    return asked


def with_answers(text: str, typed: Typed) -> str:
    """The text with every answer that differs from it, and a new zone where one is named.

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
    try:
        zone = _new_zone(typed, [str(meter.get("id")) for meter in data.get("meter") or ()])
        text = with_zone(text, zone) if zone else text
    except InputError as error:
        problems.append(error)
    if problems:
        raise joined(problems)
    return text


def _with_answer(text: str, field: Field, value: Any) -> str:
    if field.kind != "hours":
        return with_key(text, field.place, field.key, value)
    place = (*field.place, field.key)
    told = (tomllib.loads(text).get(str(field.place[0])) or {}).get(field.key) or {}
    for day in told:
        if day not in (value or {}):
            text = with_key(text, place, day, None)
    for day, hours in (value or {}).items():
        text = with_key(text, place, day, hours)
    return text


def _new_zone(typed: Typed, meters: list[str]) -> dict[str, Any]:
    """The keys of the zone that was described; where there is but one meter, it feeds the zone."""
    zone: dict[str, Any] = {}
    agreed: dict[str, Any] = {}
    for field in zone_fields(NEW):
        value = field.read(typed.get(field.id))
        if value is not None:
            (agreed if field.place[-1] == "commissioned" else zone)[field.key] = value
    if not zone and not agreed:
        return {}
    if "id" not in zone:
        raise InputError("has no name", place="Another zone", remedy="Give it one.")
    only = {"meter": meters[0]} if len(meters) == 1 else {}
    return {**only, **zone, "commissioned": agreed}

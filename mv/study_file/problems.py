"""What is wrong with a study file, each with its place, the value found and the remedy."""

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any, get_args
from zoneinfo import available_timezones

from pydantic import BaseModel

from mv.base.errors import StudyError
from mv.base.study_fields import MismatchError
from mv.base.study_records import Study
from mv.study_file.key_lines import line_of

REMEDIES = {
    "confidence": "Write a fraction between 0.5 and 0.999, such as 0.90 for 90 %.",
    "latitude": "Write degrees with a point, north positive, such as 44.52.",
    "longitude": "Write degrees with a point, east positive, such as -89.57.",
    "format": "This version reads format = 1.",
    "months": "Write the months as numbers, such as [6, 7, 8].",
    "hours": "Write first and last hour of the local clock, such as [14, 18]; opening hours as "
    'mon-fri = "06:30-22:00".',
    "reason": 'Say what happened and where the evidence is: reason = "...".',
    "energy_per_kwh": "Write a price such as 0.14, or one [[tariff.energy_per_kwh]] for each price period.",
    "demand_per_kw_month": "Write a price such as 9.5, or one [[tariff.demand_per_kw_month]] a season.",
    "kg_per_kwh": "Write a number such as 0.4, or one [[carbon.kg_per_kwh]] for each period.",
}
KINDS = {  # by the beginning of pydantic's name of the problem
    "date": 'Write a day that exists, year first, such as "2023-07-04".',
    "datetime": 'Write a local time that exists, such as "2024-07-16T17:00:00".',
    "bool": "Write true or false, without quotes.",
    "float": "Write a number without unit and quotes, with a point for decimals.",
    "int": "Write a whole number without unit and quotes.",
    "string": "Write a text in quotes.",
    "greater_than": "Write a larger number.",
    "less_than": "Write a smaller number.",
    "finite": "Write a finite number.",
    "too_short": "Name at least one.",
    "too_long": "Name fewer.",
    "missing": "Add it; the sample study shows how.",
}
_WORDING = (
    (r"^(Value error|Assertion failed), ", ""),
    (r"Input should be", "should be"),
    (r"String should", "text should"),
    (r"(Tuple|List) should have at least 1 item after validation, not 0", "is empty"),
    (r"a valid (number|integer|boolean), unable to .*", r"a \1"),
    (r"a boolean", "true or false"),
    (r"a valid date or datetime, .*", "a date"),
)


def problems_of(entries: Iterable[Any], path: Path, text: str) -> list[StudyError]:
    """Pydantic's list of a study's errors, as ours; those of one place with several forms are one."""
    found: dict[tuple[str, str], StudyError] = {}
    for entry in _own(list(entries)):
        for problem in _problems(path, entry, text):
            found.setdefault((problem.place or "", "" if _forms(entry) else problem.what), problem)
    return list(found.values())


def _own(entries: list[Any]) -> list[Any]:
    """Without the "too few items" that a wrong item in a list brings along."""
    inner = {entry["loc"][:length] for entry in entries for length in range(1, len(entry["loc"]))}
    return [e for e in entries if not (e["type"] == "too_short" and e["loc"] in inner)]


def _problems(path: Path, entry: Any, text: str) -> list[StudyError]:
    error = (entry.get("ctx") or {}).get("error")
    line = line_of(text, tuple(_names(entry["loc"])))
    if isinstance(error, MismatchError):
        told = error.several or (error,)
        return [
            StudyError(one.what, file=path, place=one.place or _place(entry["loc"]) or None, value=one.value,
                       remedy=one.remedy, line=None if one.place else line)
            for one in told
        ]  # fmt: skip
    return [_problem(path, entry, line)]


def _problem(path: Path, entry: Any, line: int | None) -> StudyError:
    place = _place(entry["loc"])
    if entry["type"] == "extra_forbidden":
        return StudyError(
            "is an unknown key", file=path, place=place, remedy=_nearest(entry["loc"]), line=line
        )
    if entry["type"] == "missing":
        return StudyError("is missing", file=path, place=place, remedy=_remedy(entry), line=line)
    what = "should be a number, or a list of tables" if _forms(entry) else _plain(entry)
    value = entry.get("input")
    if isinstance(value, Mapping | BaseModel):
        value = None
    return StudyError(what, file=path, place=place or None, value=value, remedy=_remedy(entry), line=line)


def _plain(entry: Any) -> str:
    if entry["type"] in ("model_type", "dict_type"):
        return "should be one table"
    if entry["type"] == "tuple_type":
        return "should be a list"
    what = str(entry["msg"])
    for pattern, words in _WORDING:
        what = re.sub(pattern, words, what)
    return what


def _remedy(entry: Any) -> str:
    """The remedy for the key, else for the kind of mistake."""
    kind, value = str(entry["type"]), entry.get("input")
    names = [name for name in _names(entry["loc"]) if isinstance(name, str)]
    key = names[-1] if names else ""
    if kind == "literal_error" and key not in REMEDIES:
        near = get_close_matches(str(value), _literals(entry), n=1, cutoff=0.6)
        return f"Did you mean '{near[0]}'?" if near else "Write one of these, spelt as here."
    if kind in ("model_type", "dict_type"):
        return f"Write [{'.'.join(names)}], once."
    if kind == "tuple_type" and key in ("meter", "zone", "event"):
        return f"Write [[{key}]], once for each."
    if kind == "less_than_equal" and isinstance(value, int | float) and 1 < value <= 100 and _is_share(entry):
        return f"Write a fraction: {value / 100:g} for {value:g} %."
    if key == "timezone" and isinstance(value, str):
        return _zone_remedy(value)
    if key in REMEDIES and kind != "missing":
        return REMEDIES[key]
    return next((words for begin, words in KINDS.items() if kind.startswith(begin)), KINDS["missing"])


def _is_share(entry: Any) -> bool:
    """Whether the key holds a fraction: its upper end is 1 or just below."""
    return 0.9 < float((entry.get("ctx") or {}).get("le", 0.0)) <= 1.0


def _zone_remedy(value: str) -> str:
    zones = sorted(available_timezones())
    ending = [zone for zone in zones if zone.lower().endswith(f"/{value.lower().replace(' ', '_')}")]
    near = ending or get_close_matches(value, zones, n=1, cutoff=0.75)
    return f"Did you mean '{near[0]}'?" if near else "Take the site's IANA name, such as 'America/Chicago'."


def _literals(entry: Any) -> list[str]:
    return re.findall(r"'([^']*)'", str((entry.get("ctx") or {}).get("expected", "")))


def _forms(entry: Any) -> bool:
    """Whether the place may hold a number or tables: pydantic then tells the mistake once for each."""
    return any(_is_form(part) for part in entry["loc"])


def _is_form(part: str | int) -> bool:
    return isinstance(part, str) and (part in ("float", "int") or part.startswith("tuple["))


def _names(location: tuple[str | int, ...]) -> list[str | int]:
    return [part for part in location if not _is_form(part)]


def _place(location: tuple[str | int, ...]) -> str:
    """("meter", 0, "unit") -> "[[meter]] 1, unit"; ("peak", "months", 0) -> "[peak], months, item 1"."""
    words: list[str] = []
    parts = _names(location)
    for place, part in enumerate(parts):
        if isinstance(part, int):
            table = place == 1 or (place + 1 < len(parts) and isinstance(parts[place + 1], str))
            if table and words:
                words[-1] = f"[[{words[-1].strip('[]')}]] {part + 1}"
            else:
                words.append(f"item {part + 1}")
        else:
            words.append(f"[{part}]" if not words and part != "format" else part)
    return ", ".join(words)


def _nearest(location: tuple[str | int, ...]) -> str:
    known = sorted(_known_keys(location[:-1]))
    near = get_close_matches(str(location[-1]), known, n=1, cutoff=0.5)
    if near:
        return f"Did you mean '{near[0]}'?"
    return f"Known here: {', '.join(known)}." if known else "Remove it."


def _known_keys(location: tuple[str | int, ...]) -> set[str]:
    record: type[BaseModel] | None = Study
    for part in location:
        if isinstance(part, str) and record is not None and part in record.model_fields:
            record = _record_in(record.model_fields[part].annotation)
    return set() if record is None else set(record.model_fields) - {"folder"}


def _record_in(annotation: Any) -> type[BaseModel] | None:
    """The record class inside an annotation such as tuple[Meter, ...] or Weather | None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_record_in(inner) for inner in get_args(annotation))
    return next((record for record in found if record is not None), None)

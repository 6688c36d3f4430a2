"""Opening hours as they are typed, and as hours after local midnight."""

import re

from pydantic import model_validator

from mv.base.study_fields import MismatchError, Record

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WINDOW = re.compile(r"^([01]?\d|2[0-4]):([0-5]\d)\s*-\s*([01]?\d|2[0-4]):([0-5]\d)$")


class Hours(Record):
    """Opening hours: seven tuples of (start, end) in hours after local midnight, Monday first."""

    week: tuple[tuple[tuple[float, float], ...], ...]

    @model_validator(mode="before")
    @classmethod
    def _from_table(cls, table: object) -> object:
        if not isinstance(table, dict) or set(table) == {"week"}:
            return table
        week: list[tuple[tuple[float, float], ...]] = [()] * 7
        for key, text in table.items():
            for day in _days_named(str(key)):
                week[day] = week[day] + _windows(str(key), text)
        return {"week": tuple(week)}


def _days_named(key: str) -> list[int]:
    first, _, last = key.lower().partition("-")
    if first not in DAYS or (last and last not in DAYS):
        raise MismatchError(
            f"'{key}' is not a day or a span of days", value=key, remedy="Write mon, sat or mon-fri."
        )
    start, end = DAYS.index(first), DAYS.index(last or first)
    return [day % 7 for day in range(start, end + 1 if end >= start else end + 8)]


def _windows(key: str, value: object) -> tuple[tuple[float, float], ...]:
    texts = value if isinstance(value, list) else [value]
    windows = []
    for text in texts:
        match = _WINDOW.match(str(text).strip())
        if not match:
            raise MismatchError(
                f"{key} is not a span of hours", value=text, remedy=f'Write {key} = "06:30-22:00".'
            )
        h1, m1, h2, m2 = (int(part) for part in match.groups())
        start, end = h1 + m1 / 60, h2 + m2 / 60
        if max(start, end) > 24:
            raise MismatchError(f"{key} goes past 24:00", value=text, remedy='End at "24:00" at the latest.')
        windows.append((start, end if end > start else end + 24))  # past midnight: into the next day
    return tuple(windows)

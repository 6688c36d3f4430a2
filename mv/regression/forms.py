"""The forms a model may take: lists of terms that make physical sense together."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from mv.regression.terms import WEEKDAY_NAMES, column, label

Kind = Literal["indoor", "outdoor", "whole building"]

KINDS_OF_DAY = ("weekday", "saturday", "sunday", "holiday")
# Fewer days than this cannot carry a coefficient of their own (common practice, no source).
LEAST_DAYS_OF_A_KIND = 4
# A driver is used when it is known on at least this share of days (common practice, no source).
LEAST_KNOWN_SHARE = 0.90
# A driver column of daily sums of the hourly model, whatever follows in its name; and the coefficients
# that it hides, an hour of the week each.
HOURLY_SUM, HOURLY_PARAMETERS = "expected_by_hour", 168
PRESENCE = ("occupied_hours", "people_hours", "motion_hours")
# Weeks in which people take holidays, north or south of the equator (common practice, no source): terms that
# are near zero where nobody does.
HOLIDAY_WEEKS = ("weeks:07-01:07-31", "weeks:08-01:08-31", "weeks:12-20:01-05", "weeks:01-06:01-31")
# Terms whose coefficient has one physical sign: more hours, more people, more dark: more light.
RISING = (
    "hours_open", "occupied_hours", "people_hours", "motion_hours", "dark_open_hours",
    "dark_occupied_hours", "dark_people_hours", "dark_motion_hours", "dark_hours",
)  # fmt: skip
FALLING = (
    "sun_open_hours", "sun_occupied_hours", "sun_people_hours", "sun_motion_hours",
    "open:sun_hours", "open:daylight_hours", "daylight_hours",
)  # fmt: skip


@dataclass(frozen=True)
class Form:
    """`terms` are fitted freely; `shrunk` terms are kept near zero where the data are silent."""

    terms: tuple[str, ...]
    shrunk: tuple[str, ...] = ()

    @property
    def parameters(self) -> int:
        """Free coefficients; a sum of the hourly model counts for those it hides."""
        return len(self.terms) + (HOURLY_PARAMETERS if self.by_hour else 0)

    @property
    def by_hour(self) -> bool:
        """Whether a sum of the hourly model is among its terms."""
        return any(term.startswith(HOURLY_SUM) for term in self.terms)

    @property
    def name(self) -> str:
        """The form in words."""
        return " + ".join(label(term) for term in (*self.terms, *self.shrunk))


def expected_sign(term: str) -> int:
    """+1 or -1 where physics gives the coefficient's sign, else 0."""
    if term in RISING or term.startswith(("night:", "heat:", "cool:", HOURLY_SUM)):
        return 1
    return -1 if term in FALLING else 0


def is_known(drivers: Sequence[pd.DataFrame], name: str) -> bool:
    """Whether a driver is logged well enough in every table, and varies in the first."""
    tables = [table[name] for table in drivers if name in table]
    if len(tables) < len(drivers):
        return False
    known = all(len(table) and table.notna().mean() >= LEAST_KNOWN_SHARE for table in tables)
    return bool(known and _varies(tables[0]))


def _varies(values: pd.Series) -> bool:
    known = values.to_numpy(dtype=np.float64)
    known = known[np.isfinite(known)]
    return bool(len(known) and np.ptp(known) > 0)


def base_structures(tables: Sequence[pd.DataFrame], hourly_sum: str | None) -> list[tuple[str, ...]]:
    """Ways to tell days apart, simplest first, that the first table's days can carry.

    `hourly_sum` names the column that holds the daily sums of an hourly model of these days, if any.
    """
    drivers = tables[0]
    structures: list[tuple[str, ...]] = [("every day",)]
    opened = drivers["is_open_day"]
    both = min(int(opened.sum()), int((~opened.astype(bool)).sum()))
    if both >= LEAST_DAYS_OF_A_KIND:
        structures.append(("open days", "closed days"))
    if is_known([drivers], "hours_open"):
        structures.append(("every day", "hours_open"))
        if both >= LEAST_DAYS_OF_A_KIND and _varies(drivers.loc[opened, "hours_open"]):
            structures.append(("open days", "closed days", "hours_open"))
    kinds = kind_terms(drivers)
    if len(kinds) > 1:
        structures.append(kinds)
    if drivers["weekday"].value_counts().reindex(range(7)).min() >= LEAST_DAYS_OF_A_KIND:
        structures.append(tuple(f"weekday:{number}" for number in range(len(WEEKDAY_NAMES))))
        holidays = int(drivers["is_holiday"].sum())
        if holidays >= LEAST_DAYS_OF_A_KIND:
            structures.append((*structures[-1], "kind:holiday"))
    return [*structures, *hourly_structures(tables, hourly_sum)]


def hourly_structures(tables: Sequence[pd.DataFrame], hourly_sum: str | None) -> list[tuple[str, ...]]:
    """The hourly model's daily sum, alone and with a level for open and closed days."""
    if hourly_sum is None or not is_known(tables, hourly_sum):
        return []
    opened = tables[0]["is_open_day"].astype(bool)
    if min(int(opened.sum()), int((~opened).sum())) < LEAST_DAYS_OF_A_KIND:
        return [("every day", hourly_sum)]
    return [("every day", hourly_sum), ("open days", "closed days", hourly_sum)]


def kind_terms(drivers: pd.DataFrame) -> tuple[str, ...]:
    """Weekday, Saturday, Sunday, holiday; a kind with too few days joins its nearest neighbour."""
    counts = drivers["day_type"].value_counts()
    groups: dict[str, list[str]] = {kind: [kind] for kind in KINDS_OF_DAY}
    nearest = {"holiday": ("sunday", "saturday", "weekday"), "sunday": ("saturday", "weekday"),
               "saturday": ("sunday", "weekday"), "weekday": ("saturday", "sunday", "holiday")}  # fmt: skip
    for kind in ("holiday", "sunday", "saturday", "weekday"):
        size = sum(int(counts.get(member, 0)) for member in groups.get(kind, ()))
        if size < LEAST_DAYS_OF_A_KIND and len(groups) > 1:
            host = next(other for other in nearest[kind] if other in groups)
            groups[host] += groups.pop(kind)
    return tuple(f"kind:{'+'.join(members)}" for members in groups.values())


def presence_terms(tables: Sequence[pd.DataFrame]) -> list[tuple[str, ...]]:
    """No presence, or one of those logged."""
    return [(), *((name,) for name in PRESENCE if is_known(tables, name))]


def daylight_terms(tables: Sequence[pd.DataFrame], presence: tuple[str, ...]) -> list[str]:
    """Terms by which darkness or sun may change the use, given the presence term chosen."""
    names: list[str] = []
    if presence:
        stem = presence[0].removesuffix("_hours")
        names += [f"dark_{stem}_hours", f"sun_{stem}_hours"]
    names += ["dark_open_hours", "sun_open_hours"]
    names = [name for name in names if is_known(tables, name)]
    if not names and float(np.ptp(column(tables[0], "daylight_hours"))) > 0:
        names = ["open:daylight_hours", "open:sun_hours"]
    return names

"""The hottest eligible days, for programmes that judge kW on those."""

from collections.abc import Collection
from datetime import date
from itertools import pairwise

import numpy as np
import pandas as pd

from mv.base.clock import local_days
from mv.base.estimate import CannotSay
from mv.base.programme_records import Peak
from mv.peak.window import eligible_day_mask

WHOLE_DAY_SHARE = 0.9
"""Share of a day's temperatures that must be there. Common practice, no source."""
_AFTERNOON = (12, 18)


def hottest_days(
    temperature_c: pd.Series,
    peak: Peak,
    *,
    timezone: str,
    holidays: Collection[date] = (),
) -> tuple[date, ...] | CannotSay:
    """The local dates of `peak.days` hottest eligible days, in order of date.

    Not consecutive: ranked by the day's highest temperature, the earlier day first where equal.
    Consecutive: the run of eligible calendar days with the highest heat score (`heat_score`).
    `temperature_c` is outdoor dry bulb on a regular UTC grid.
    """
    table = _days(temperature_c, peak, timezone, holidays)
    if len(table) < peak.days:
        why = f"temperatures cover {len(table)} eligible days, the rule asks for {peak.days}"
        return CannotSay("hottest days", why)
    if not peak.consecutive:
        ranked = table.sort_values("highest", ascending=False, kind="stable")
        return tuple(sorted(day.date() for day in ranked.index[: peak.days]))
    runs = _runs(pd.DatetimeIndex(table.index), peak.days)
    if not runs:
        why = f"there are no {peak.days} eligible days in a row with temperatures"
        return CannotSay("hottest days", why)
    best = max(runs, key=lambda run: heat_score(table.loc[list(run)]))
    return tuple(day.date() for day in best)


def heat_score(days: pd.DataFrame) -> float:
    """Mean of the run's highest temperature, its mean, and its mean from noon to 18, degrees C.

    The three count equally, as in California's heat-wave ranking (DEER 2023,
    cedars.sound-data.com: peak temperature, 72-hour mean, noon-to-18 mean).
    """
    parts = (days["highest"].max(), days["mean"].mean(), days["afternoon"].mean())
    return float(np.mean(parts))


def _days(temperature_c: pd.Series, peak: Peak, timezone: str, holidays: Collection[date]) -> pd.DataFrame:
    index = pd.DatetimeIndex(temperature_c.index)
    days = local_days(index, timezone)
    hour = np.asarray(index.tz_convert(timezone).hour)
    afternoon = temperature_c.where((hour >= _AFTERNOON[0]) & (hour < _AFTERNOON[1]))
    grouped = temperature_c.groupby(days)
    table = pd.DataFrame(
        {
            "highest": grouped.max(),
            "mean": grouped.mean(),
            "afternoon": afternoon.groupby(days).mean(),
            "count": grouped.count(),
        }
    ).dropna()
    whole = table["count"] >= WHOLE_DAY_SHARE * table["count"].median()
    eligible = eligible_day_mask(pd.DatetimeIndex(table.index), peak, holidays=holidays)
    return table.loc[whole.to_numpy() & eligible]


def _runs(days: pd.DatetimeIndex, length: int) -> list[tuple[pd.Timestamp, ...]]:
    runs = [tuple(days[i : i + length]) for i in range(len(days) - length + 1)]
    one_day = pd.Timedelta(days=1)
    return [run for run in runs if all(b - a == one_day for a, b in pairwise(run))]

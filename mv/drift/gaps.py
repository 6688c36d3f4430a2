"""Stretches without usable data."""

import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.spells import runs_of
from mv.drift.causes import checks, texts
from mv.drift.records import DriftFinding, DriftSeries

LEAST_GAP_DAYS = 3  # unusable days in a row that are reported; common practice, no source


def gap_findings(item: DriftSeries) -> list[DriftFinding]:
    """One finding for each long run of days without usable energy."""
    missing = item.energy_kwh.isna().to_numpy()
    days = pd.DatetimeIndex(item.energy_kwh.index)
    begun, over = runs_of(missing)
    found = []
    for start, stop in zip(begun.tolist(), over.tolist(), strict=True):
        if stop - start >= LEAST_GAP_DAYS:
            found.append(_finding(item, days, start, stop))
    return found


def _finding(item: DriftSeries, days: pd.DatetimeIndex, start: int, stop: int) -> DriftFinding:
    first, last = days[start].date(), days[stop - 1].date()
    to_the_end = stop == len(days)
    what = f"no usable data since {first}" if to_the_end else f"no usable data from {first} to {last}"
    causes = ("data stopped", "outage")
    return DriftFinding(
        where=item.where,
        what=what,
        since=first,
        kwh_per_month=CannotSay(f"kWh a month of {item.where} in the gap", "nothing usable was metered"),
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="gap",
        zones=item.zones,
        causes=causes,
        until=None if to_the_end else last,
    )

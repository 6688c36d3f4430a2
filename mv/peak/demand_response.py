"""Load drop in demand-response calls, against a baseline rule that is stated."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.programme_records import DemandEvent, DemandResponse

FEWEST_PLACEBO_DAYS = 5
"""Quiet days needed to see how far the rule errs. Common practice, no source."""
SATURDAY = 5
_SEARCH_FACTOR = 6


@dataclass(frozen=True, slots=True)
class LoadDrop:
    """One call: the mean drop in kW and its kWh; `days` are those the baseline was made of."""

    event: DemandEvent
    drop_kw: Answer
    drop_kwh: Answer
    baseline_kw: float | None
    metered_kw: float | None
    days: tuple[date, ...]
    rule: str

    def as_json(self) -> dict[str, Any]:
        """The entry under `demand_response` of result.json."""
        drop, energy = self.drop_kw, self.drop_kwh
        return {
            "first": self.event.first.isoformat(),
            "last": self.event.last.isoformat(),
            "drop_kw": drop.as_json() if isinstance(drop, Estimate) else None,
            "drop_kwh": energy.as_json() if isinstance(energy, Estimate) else None,
            "baseline_kw": self.baseline_kw,
            "metered_kw": self.metered_kw,
            "baseline_days": [day.isoformat() for day in self.days],
            "rule": self.rule,
            "why": drop.why if isinstance(drop, CannotSay) else "the baseline less the metered load",
        }


@dataclass(frozen=True, slots=True)
class _Call:
    """A span of local clock hours on one day."""

    day: pd.Timestamp
    first: pd.Timedelta
    last: pd.Timedelta

    def bounds(self, day: pd.Timestamp, timezone: str) -> tuple[pd.Timestamp, pd.Timestamp]:
        return _instant(day + self.first, timezone), _instant(day + self.last, timezone)


def load_drop(
    power_kw: pd.Series,
    event: DemandEvent,
    rule: DemandResponse,
    *,
    timezone: str,
    holidays: Collection[date] = (),
    confidence: float = 0.90,
) -> LoadDrop:
    """Mean kW that the call took off, against the rule's baseline, with an interval.

    The interval comes from the rule itself, tried on quiet days before the call: the spread and
    bias of its error there (each as if it were a call) is its error here.
    """
    closed = {pd.Timestamp(day) for day in holidays} | _event_days(rule)
    call = _call(event)
    words = _in_words(rule)
    found = _baseline(power_kw, call, call.day, rule, timezone, closed)
    if call.day.weekday() >= SATURDAY or call.day in {pd.Timestamp(day) for day in holidays}:
        found = CannotSay(
            "demand-response baseline", "the call is on a day off, the rule's days are weekdays"
        )
    metered = _mean_kw(power_kw, *call.bounds(call.day, timezone))
    if isinstance(found, CannotSay) or metered is None:
        why = found.why if isinstance(found, CannotSay) else "the call's own hours are not metered"
        unsaid = CannotSay("demand-response load drop", why)
        return LoadDrop(event, unsaid, unsaid, None, metered, (), words)
    baseline_kw, days = found
    drop = _with_interval(baseline_kw - metered, _errors(power_kw, call, rule, timezone, closed), confidence)
    hours = (call.last - call.first) / pd.Timedelta(hours=1)
    energy = drop if isinstance(drop, CannotSay) else drop.scaled(hours)
    dates = tuple(day.date() for day in days)
    return LoadDrop(event, drop, energy, baseline_kw, metered, dates, words)


def load_drops(
    power_kw: pd.Series,
    rule: DemandResponse,
    *,
    timezone: str,
    holidays: Collection[date] = (),
    confidence: float = 0.90,
) -> tuple[LoadDrop, ...]:
    """Every call of the study."""
    return tuple(
        load_drop(power_kw, event, rule, timezone=timezone, holidays=holidays, confidence=confidence)
        for event in rule.events
    )


def _baseline(
    power_kw: pd.Series,
    call: _Call,
    day: pd.Timestamp,
    rule: DemandResponse,
    timezone: str,
    closed: set[pd.Timestamp],
) -> tuple[float, tuple[pd.Timestamp, ...]] | CannotSay:
    """The rule's baseline for these hours on `day`, and the days that made it."""
    candidates = _days_before(power_kw, call, day, rule, timezone, closed)
    if len(candidates) < rule.days_back:
        why = (
            f"the rule asks for {rule.days_back} eligible days before the call, {len(candidates)} are metered"
        )
        return CannotSay("demand-response baseline", why)
    kept = sorted(candidates.items(), key=lambda entry: -entry[1])[: rule.days_kept]
    days = tuple(sorted(entry[0] for entry in kept))
    level = float(np.mean([entry[1] for entry in kept]))
    return level * _adjustment(power_kw, call, day, days, rule, timezone), days


def _days_before(
    power_kw: pd.Series,
    call: _Call,
    day: pd.Timestamp,
    rule: DemandResponse,
    timezone: str,
    closed: set[pd.Timestamp],
) -> dict[pd.Timestamp, float]:
    found: dict[pd.Timestamp, float] = {}
    for back in range(1, rule.days_back * _SEARCH_FACTOR):
        earlier = day - pd.Timedelta(days=back)
        if earlier.weekday() >= SATURDAY or earlier in closed:
            continue
        mean = _mean_kw(power_kw, *call.bounds(earlier, timezone))
        if mean is not None:
            found[earlier] = mean
        if len(found) == rule.days_back:
            break
    return found


def _adjustment(
    power_kw: pd.Series,
    call: _Call,
    day: pd.Timestamp,
    days: tuple[pd.Timestamp, ...],
    rule: DemandResponse,
    timezone: str,
) -> float:
    """The day's load before the call over the baseline days', within the rule's cap; 1 = none."""
    if rule.adjustment_hours == 0:
        return 1.0
    end = call.first - pd.Timedelta(hours=rule.adjustment_gap_hours)
    before = _Call(day, end - pd.Timedelta(hours=rule.adjustment_hours), end)
    today = _mean_kw(power_kw, *before.bounds(day, timezone))
    usual = [_mean_kw(power_kw, *before.bounds(other, timezone)) for other in days]
    known = [value for value in usual if value is not None]
    if today is None or not known or np.mean(known) <= 0:
        return 1.0
    cap = rule.adjustment_cap
    return float(np.clip(today / float(np.mean(known)), 1.0 - cap, 1.0 + cap))


def _errors(
    power_kw: pd.Series,
    call: _Call,
    rule: DemandResponse,
    timezone: str,
    closed: set[pd.Timestamp],
) -> list[float]:
    """Baseline less metered on quiet days before the call, kW, as if each were a call."""
    errors = []
    for day in _days_before(power_kw, call, call.day, rule, timezone, closed):
        found = _baseline(power_kw, call, day, rule, timezone, closed)
        metered = _mean_kw(power_kw, *call.bounds(day, timezone))
        if not isinstance(found, CannotSay) and metered is not None:
            errors.append(found[0] - metered)
    return errors


def _with_interval(drop_kw: float, errors: list[float], confidence: float) -> Answer:
    """The drop with the rule's own error: root mean square over the quiet days, bias included."""
    from scipy.special import stdtrit

    if len(errors) < FEWEST_PLACEBO_DAYS:
        why = (
            f"only {len(errors)} quiet days show how far the baseline rule errs, "
            f"so the drop of {drop_kw:.3g} kW has no interval"
        )
        return CannotSay("demand-response load drop", why)
    error = float(np.sqrt(np.mean(np.square(errors))))
    half = float(stdtrit(len(errors), 0.5 + confidence / 2.0)) * error
    return Estimate(drop_kw, drop_kw - half, drop_kw + half, confidence, error)


def _mean_kw(power_kw: pd.Series, start: pd.Timestamp, end: pd.Timestamp) -> float | None:
    index = pd.DatetimeIndex(power_kw.index)
    values = power_kw.iloc[index.searchsorted(start) : index.searchsorted(end)]
    return None if values.empty or values.isna().any() else float(values.mean())


def _call(event: DemandEvent) -> _Call:
    first, last = _naive(event.first), _naive(event.last)
    day = first.normalize()
    return _Call(day, first - day, last - day)


def _naive(moment: datetime) -> pd.Timestamp:
    return pd.Timestamp(moment).tz_localize(None)


def _instant(local: pd.Timestamp, timezone: str) -> pd.Timestamp:
    return local.tz_localize(timezone, ambiguous=True, nonexistent="shift_forward").tz_convert("UTC")


def _event_days(rule: DemandResponse) -> set[pd.Timestamp]:
    return {_naive(event.first).normalize() for event in rule.events}


def _in_words(rule: DemandResponse) -> str:
    words = (
        f"mean of the same hours on the {rule.days_kept} highest of the last {rule.days_back} "
        "weekdays that were neither holidays nor calls"
    )
    if rule.adjustment_hours:
        words += (
            f", moved by the load in the {rule.adjustment_hours:g} h that end "
            f"{rule.adjustment_gap_hours:g} h before the call, by at most {rule.adjustment_cap:.0%}"
        )
    return words

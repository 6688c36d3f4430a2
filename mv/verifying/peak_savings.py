"""Peak reduction: each meter's window model, their sum, and the coincidence found."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.meter_accuracy import MeterAccuracy
from mv.base.programme_records import Peak
from mv.base.series import WeatherSeries
from mv.base.study_records import Span, Study
from mv.peak import (
    coincidence_factor,
    hottest_days,
    peak_window_mask,
    window_fits,
    window_mean_kw,
    with_departures,
)
from mv.regression import FittedModel, fit
from mv.savings import mean_reduction
from mv.verifying.meter_savings import MeterSavings, events_of
from mv.verifying.populations import site_total
from mv.verifying.shared_zones import zones_of_several_meters

WHAT = "peak_kw"


@dataclass(frozen=True)
class PeakOfMeter:
    """One meter in the window: its reduction, daily means before and after, kW, and coincidence."""

    reduction: Answer
    accuracy: MeterAccuracy
    before: pd.Series = field(default_factory=lambda: pd.Series(dtype=float))
    after: pd.Series = field(default_factory=lambda: pd.Series(dtype=float))
    coincidence: Mapping[str, Answer] = field(default_factory=dict)
    residuals: pd.Series | None = None

    def as_json(self) -> dict[str, Any]:
        """The entry under `peak.by_meter` of result.json."""
        return {
            "reduction_kw": _json(self.reduction),
            "baseline_days": len(self.before),
            "reporting_days": len(self.after),
            "coincidence_before": _json(self.coincidence.get("before")),
            "coincidence_after": _json(self.coincidence.get("after")),
            "accuracy": self.accuracy.fraction,
            "accuracy_source": self.accuracy.source,
        }


@dataclass(frozen=True)
class PeakAccount:
    """The programme's window: reduction and coincidence of the site, and of each meter."""

    reduction: Answer
    rule: str | None = None
    coincidence: Mapping[str, Answer] = field(default_factory=dict)
    by_meter: Mapping[str, PeakOfMeter] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any] | None:
        """The `peak` object of result.json; None where the study defines no window."""
        if self.rule is None:
            return None
        return {
            "rule": self.rule,
            "coincidence": {name: _json(answer) for name, answer in self.coincidence.items()},
            "by_meter": {name: item.as_json() for name, item in self.by_meter.items()},
        }

    @property
    def cannot_say(self) -> tuple[CannotSay, ...]:
        """The reduction where it cannot be told."""
        return (self.reduction,) if isinstance(self.reduction, CannotSay) else ()


def peak_account(study: Study, meters: Sequence[MeterSavings], weather: WeatherSeries | None) -> PeakAccount:
    """Mean reduction over the programme's peak window, kW, all meters together."""
    if study.peak is None:
        unasked = "the study defines no peak window: add [peak] from the programme's rules"
        return PeakAccount(CannotSay(WHAT, unasked))
    by_meter = {item.meter.id: _of_meter(study, study.peak, item, weather) for item in meters}
    return PeakAccount(
        _summed(study, by_meter), _in_words(study.peak), _site_coincidence(study, meters, by_meter), by_meter
    )


def _summed(study: Study, by_meter: Mapping[str, PeakOfMeter]) -> Answer:
    """The sum over meters; the meters' own errors may have one cause and add up as they stand."""
    answers = {name: item.reduction for name, item in by_meter.items()}
    sampled = {meter for group in study.population for meter in group.meters}
    silent = [
        f"{name}: {answer.why}"
        for name, answer in answers.items()
        if isinstance(answer, CannotSay) and name not in sampled
    ]
    if silent:
        return CannotSay(WHAT, "; ".join(silent))
    residuals = {name: item.residuals for name, item in by_meter.items() if item.residuals is not None}
    metering = {
        name: item.accuracy.fraction * abs(float(item.reduction.estimate))
        for name, item in by_meter.items()
        if isinstance(item.reduction, Estimate)
    }
    return site_total(study, answers, residuals, metering_half_widths=metering, what=WHAT).total


def _of_meter(study: Study, peak: Peak, item: MeterSavings, weather: WeatherSeries | None) -> PeakOfMeter:
    assert study.periods is not None
    accuracy = item.meter.own_error
    too_coarse = window_fits(peak, item.series.interval_minutes)
    if too_coarse is not None:
        return PeakOfMeter(too_coarse, accuracy)
    hottest = None
    if peak.rule == "hottest days":
        picked = _hottest(study, peak, weather)
        if isinstance(picked, CannotSay):
            return PeakOfMeter(picked, accuracy)
        hottest = picked
    before = _window_days(study, _every_day(peak), item, study.periods.baseline, None)
    after = _window_days(study, peak, item, study.periods.reporting, hottest)
    found = _coincidence(study, item, before, after)
    if after.empty:
        none = CannotSay(WHAT, "the reporting period has no metered day in the peak window")
        return PeakOfMeter(none, accuracy, before, after, found)
    model, reduction = _reduction(study, item, before, after, accuracy)
    residuals = None if model is None else model.residuals
    return PeakOfMeter(reduction, accuracy, before, after, found, residuals)


def _reduction(
    study: Study, item: MeterSavings, before: pd.Series, after: pd.Series, accuracy: MeterAccuracy
) -> tuple[FittedModel | None, Answer]:
    drivers = item.drivers
    model = fit(
        before,
        drivers.reindex(before.index),
        kind=item.kind,
        events=events_of(study, item.meter.id),
        applied_to=(drivers.reindex(after.index),),
    )
    if isinstance(model, CannotSay):
        return None, CannotSay(WHAT, f"baseline peak window: {model.why}")
    reduction = mean_reduction(
        model,
        drivers.reindex(after.index),
        after,
        confidence=study.study.confidence,
        metering_accuracy=accuracy.fraction,
    )
    departures = before - model.expected(drivers.reindex(before.index))
    return model, with_departures(reduction, departures, days=len(after))


def _coincidence(study: Study, item: MeterSavings, before: pd.Series, after: pd.Series) -> dict[str, Answer]:
    """Share of the connected load that burnt in the window; a whole building shows no lamps."""
    if item.meter.measures != "lighting":
        unseen = CannotSay("coincidence factor", "a whole-building meter does not show the lighting alone")
        return {"before": unseen, "after": unseen}
    return {
        "before": _share(study, before, _connected(study, item, "connected_kw_before")),
        "after": _share(study, after, _connected(study, item, "connected_kw_after")),
    }


def _site_coincidence(
    study: Study, meters: Sequence[MeterSavings], by_meter: Mapping[str, PeakOfMeter]
) -> dict[str, Answer]:
    """The same of all meters together, on the days that all of them have."""
    found: dict[str, Answer] = {}
    for when in ("before", "after"):
        loads = [_connected(study, item, f"connected_kw_{when}") for item in meters]
        silent = [a for item in by_meter.values() if isinstance(a := item.coincidence.get(when), CannotSay)]
        days = [getattr(item, when) for item in by_meter.values()]
        if silent or any(load is None for load in loads):
            why = silent[0].why if silent else "the connected load is not stated"
            found[when] = CannotSay("coincidence factor", why)
            continue
        total = pd.concat(days, axis=1).sum(axis=1, skipna=False)
        found[when] = _share(study, total, sum(load for load in loads if load is not None))
    return found


def _share(study: Study, daily_kw: pd.Series, connected_kw: float | None) -> Answer:
    return coincidence_factor(daily_kw, connected_kw=connected_kw, confidence=study.study.confidence)


def _connected(study: Study, item: MeterSavings, name: str) -> float | None:
    shared = zones_of_several_meters(study)
    loads = [None if zone.id in shared else getattr(zone, name) for zone in item.zones]
    known = [load for load in loads if load is not None]
    return float(sum(known)) if known and len(known) == len(loads) else None


def _every_day(peak: Peak) -> Peak:
    """The window from which the baseline is learnt: all eligible days, whatever the rule picks."""
    if peak.rule != "single hour":
        return peak.model_copy(update={"rule": "every day"})
    hours = sorted({float(moment.hour) for moment in peak.at})
    windows = [(hour, hour + 1.0) for hour in hours]
    return peak.model_copy(
        update={
            "rule": "every day",
            "hour_labels": "starting",
            "hours": windows[0],
            "also_hours": tuple(windows[1:]),
        }
    )


def _hottest(study: Study, peak: Peak, weather: WeatherSeries | None) -> CannotSay | list[object]:
    assert study.periods is not None
    if weather is None:
        return CannotSay(WHAT, "the hottest days cannot be told without [weather]")
    start, end = period_bounds(
        study.periods.reporting.first, study.periods.reporting.last, study.site.timezone
    )
    temperature = weather.temperature_c
    inside = (temperature.index >= start) & (temperature.index < end)
    picked = hottest_days(
        temperature[inside], peak, timezone=study.site.timezone, holidays=study.occupancy.holidays
    )
    return picked if isinstance(picked, CannotSay) else list(picked)


def _window_days(
    study: Study, peak: Peak, item: MeterSavings, span: Span, hottest: list[object] | None
) -> pd.Series:
    """Mean kW in the window by local day of the span, estimated intervals left out."""
    start, end = period_bounds(span.first, span.last, study.site.timezone)
    power = item.series.power_kw.where(~item.series.estimated)
    power = power[(power.index >= start) & (power.index < end)]
    mask = peak_window_mask(
        pd.DatetimeIndex(power.index),
        peak,
        timezone=study.site.timezone,
        holidays=study.occupancy.holidays,
        hottest=hottest,  # type: ignore[arg-type]
    )
    if not np.any(mask):
        return pd.Series(dtype=float)
    days = window_mean_kw(power, mask, timezone=study.site.timezone).dropna()
    days.index = pd.DatetimeIndex(days.index, name="day")
    return days[days.index.isin(item.drivers.index)]


def _in_words(peak: Peak) -> str:
    windows = " and ".join(f"{_clock(first)}-{_clock(last)}" for first, last in peak.windows)
    if peak.rule == "single hour":
        moments = ", ".join(f"{moment:%Y-%m-%d %H:%M}" for moment in peak.at)
        return f"the hours from {moments}, local clock"
    days = "weekdays" if peak.weekdays_only else "days"
    kept = "" if not peak.holidays_excluded else " that are no holidays"
    months = ", ".join(str(month) for month in peak.months)
    which = "every day" if peak.rule == "every day" else f"the {peak.days} hottest"
    row = " in a row" if peak.rule == "hottest days" and peak.consecutive else ""
    return f"mean over {which}{row} of the {days}{kept} in months {months}, {windows}, local clock"


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(60 * (hour % 1)):02d}"


def _json(answer: Answer | None) -> dict[str, Any] | None:
    return answer.as_json() if isinstance(answer, Estimate) else None

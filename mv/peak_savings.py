"""Peak reduction: each meter's window model, and their sum."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.estimate import Answer, CannotSay
from mv.base.programme_records import Peak
from mv.base.series import WeatherSeries
from mv.base.study_records import Span, Study
from mv.meter_savings import MeterSavings, events_of
from mv.peak import hottest_days, peak_window_mask, window_fits, window_mean_kw
from mv.populations import site_total
from mv.regression import FittedModel, fit
from mv.savings import mean_reduction

WHAT = "peak_kw"


def peak_reduction(study: Study, meters: Sequence[MeterSavings], weather: WeatherSeries | None) -> Answer:
    """Mean reduction over the programme's peak window, kW, all meters together."""
    if study.peak is None:
        return CannotSay(WHAT, "the study defines no peak window: add [peak] from the programme's rules")
    answers: dict[str, Answer] = {}
    residuals: dict[str, pd.Series] = {}
    for item in meters:
        model, answer = _of_meter(study, study.peak, item, weather)
        answers[item.meter.id] = answer
        if model is not None:
            residuals[item.meter.id] = model.residuals
    sampled = {meter for group in study.population for meter in group.meters}
    silent = [
        f"{name}: {answer.why}"
        for name, answer in answers.items()
        if isinstance(answer, CannotSay) and name not in sampled
    ]
    if silent:
        return CannotSay(WHAT, "; ".join(silent))
    return site_total(study, answers, residuals, what=WHAT).total


def _of_meter(
    study: Study, peak: Peak, item: MeterSavings, weather: WeatherSeries | None
) -> tuple[FittedModel | None, Answer]:
    assert study.periods is not None
    too_coarse = window_fits(peak, item.series.interval_minutes)
    if too_coarse is not None:
        return None, too_coarse
    hottest = None
    if peak.rule == "hottest days":
        picked = _hottest(study, peak, weather)
        if isinstance(picked, CannotSay):
            return None, picked
        hottest = picked
    before = _window_days(study, _every_day(peak), item, study.periods.baseline, None)
    after = _window_days(study, peak, item, study.periods.reporting, hottest)
    if after.empty:
        return None, CannotSay(WHAT, "the reporting period has no metered day in the peak window")
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
    return model, mean_reduction(
        model,
        drivers.reindex(after.index),
        after,
        confidence=study.study.confidence,
        metering_accuracy=item.meter.accuracy or 0.0,
    )


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

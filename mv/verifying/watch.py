"""Settings and drift of a study: what moved since hand-over, and since when it has been told."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import pandas as pd

from mv.base.clock import local_midnight, period_bounds
from mv.base.estimate import CannotSay
from mv.base.series import MeterSeries, MotionLog
from mv.base.setting_records import ZoneSettings
from mv.base.study_records import Span, Study, Zone
from mv.controls import infer_settings
from mv.drift import DriftFinding, DriftSeries, find_drift
from mv.drivers import interval_conditions
from mv.intake import Intake
from mv.progress import Step
from mv.verifying.clock_doubts import told_in_doubt
from mv.verifying.drift_series import series_of, site_series, until_day
from mv.verifying.first_told import Looked, as_first_told
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.worth import price_per_kwh


@dataclass(frozen=True)
class Watched:
    """`unwatched`: meters on which no drift can be told, with the reason."""

    settings: tuple[ZoneSettings, ...]
    drift: tuple[DriftFinding, ...]
    unwatched: tuple[CannotSay, ...] = ()


def watched(study: Study, intake: Intake, meters: Sequence[MeterSavings], step: Step) -> Watched:
    """Every zone's settings and everything that changed, dated as first told."""
    assert study.periods is not None
    reporting = study.periods.reporting
    step("Control settings", 0.75)
    settings = settings_until(study, intake, meters, reporting.last)
    step("What changed", 0.88)
    answers = [series_of(study, item) for item in meters]
    series = [answer for answer in answers if isinstance(answer, DriftSeries)]
    drift = _drift(study, series, settings)

    def look_until(end: date, zones: frozenset[str]) -> Looked:
        then = settings_until(study, intake, meters, end, zones=zones)
        fed = [item for item in series if not item.zones or zones & set(item.zones)]
        return then, _drift(study, [until_day(item, end) for item in fed], then)

    settings, drift = as_first_told(settings, drift, reporting=reporting, look_until=look_until)
    unwatched = tuple(answer for answer in answers if isinstance(answer, CannotSay))
    return Watched(settings, drift, unwatched)


def settings_until(
    study: Study,
    intake: Intake,
    meters: Sequence[MeterSavings],
    last: date,
    *,
    zones: frozenset[str] | None = None,
) -> tuple[ZoneSettings, ...]:
    """The settings of all zones, or of some, as the data until a day show them."""
    wanted = [(item, z) for item in meters for z in item.zones if zones is None or z.id in zones]
    return tuple(_settings(study, intake, item, zone, last) for item, zone in wanted)


def _settings(study: Study, intake: Intake, item: MeterSavings, zone: Zone, last: date) -> ZoneSettings:
    assert study.periods is not None
    span = Span(first=study.periods.reporting.first, last=last)
    series = _cut(item.series, *period_bounds(span.first, span.last, study.site.timezone))
    found = infer_settings(
        zone,
        series,
        _log_until(intake.motion.get(zone.id), last, study.site.timezone),
        interval_conditions(pd.DatetimeIndex(series.energy_kwh.index), study, zone),
        reporting=span,
        timezone=study.site.timezone,
        confidence=study.study.confidence,
        shares_meter=len(item.zones) > 1,
        measures=item.meter.measures,
    )
    return told_in_doubt(found, item.series.ledger.remarks)


def _cut(series: MeterSeries, start: pd.Timestamp, end: pd.Timestamp) -> MeterSeries:
    inside = (series.energy_kwh.index >= start) & (series.energy_kwh.index < end)
    return replace(series, energy_kwh=series.energy_kwh[inside], estimated=series.estimated[inside])


def _log_until(log: MotionLog | None, last: date, timezone: str) -> MotionLog | None:
    """The log as it was at the end of a day: later motion must not alter what was said."""
    end = local_midnight(pd.Timestamp(last) + pd.Timedelta(days=1), timezone)
    if log is None or log.known_to <= end:
        return log
    return replace(log, state=log.state[log.state.index < end], known_to=end)


def _drift(
    study: Study, series: Sequence[DriftSeries], settings: Sequence[ZoneSettings]
) -> tuple[DriftFinding, ...]:
    return find_drift(
        series,
        settings,
        confidence=study.study.confidence,
        price_per_kwh=price_per_kwh(study.tariff),
        site=site_series(series),
    )

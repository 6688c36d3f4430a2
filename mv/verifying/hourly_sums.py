"""Hourly models of a meter, summed to days: one more driver that the daily model may take."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from mv.base.clock import period_bounds
from mv.base.series import MeterSeries
from mv.base.study_records import Event, Span, Study, Zone
from mv.regression import expected_by_hour
from mv.verifying.site_drivers import SiteDrivers

LONGEST_INTERVAL_MINUTES = 60.0
LEAST_OWN_SHARE = 0.5  # of the readings; the rest may be parts of coarser ones (common practice, no source)
BASELINE_SUM, REPORTING_SUM = "expected_by_hour_baseline", "expected_by_hour_reporting"
TOO_COARSE = "the readings are longer than an hour"
TOO_FEW = "less than four weeks of whole hours, or their drivers are not known"


@dataclass(frozen=True)
class HourlySource:
    """What the hourly models of a meter are made of."""

    study: Study
    series: MeterSeries
    drivers: SiteDrivers
    zones: tuple[Zone, ...]
    events: tuple[Event, ...]
    whole_building: bool


def with_hourly_sums(
    source: HourlySource, days: pd.DataFrame, typical: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame, str | None]:
    """`days` (of both periods) and `typical` with the sums of each period's hourly model.

    The baseline's model serves every day, the reporting period's its own and the typical ones. With
    the reason where there are no such sums.
    """
    if (
        source.series.interval_minutes > LONGEST_INTERVAL_MINUTES
        or _own_share(source.series) < LEAST_OWN_SHARE
    ):
        return days, typical, TOO_COARSE
    assert source.study.periods is not None
    before, after = source.study.periods.baseline, source.study.periods.reporting
    hours = source.drivers.by_hour(source.zones, whole_building=source.whole_building)
    baseline = expected_by_hour(
        _energy(source, before, hours.before), hours.before, [hours.after, hours.typical]
    )
    reporting = expected_by_hour(_energy(source, after, hours.after), hours.after, [hours.typical])
    if baseline is None and reporting is None:
        return days, typical, TOO_FEW
    if baseline is not None:
        days = days.assign(**{BASELINE_SUM: pd.concat(baseline[:2]).reindex(days.index)})
        typical = typical.assign(**{BASELINE_SUM: baseline[2].reindex(typical.index)})
    if reporting is not None:
        days = days.assign(**{REPORTING_SUM: reporting[0].reindex(days.index)})
        typical = typical.assign(**{REPORTING_SUM: reporting[1].reindex(typical.index)})
    return days, typical, None


def _own(series: MeterSeries) -> pd.Series:
    """True where an interval was read itself, not as a part of a coarser reading."""
    return pd.Series(True, index=series.energy_kwh.index) if series.spread is None else ~series.spread


def _own_share(series: MeterSeries) -> float:
    read = series.energy_kwh.notna()
    return float(_own(series)[read].mean()) if read.any() else 0.0


def _energy(source: HourlySource, span: Span, hours: pd.DataFrame) -> pd.Series:
    """kWh of each whole hour that was metered, without days of events that are set aside."""
    start, end = period_bounds(span.first, span.last, source.study.site.timezone)
    energy = source.series.energy_kwh.where(~source.series.estimated & _own(source.series))
    energy = energy[(energy.index >= start) & (energy.index < end)]
    grouped = energy.resample("1h", origin=hours.index[0])
    hourly = grouped.sum().where(grouped.count() == round(60.0 / source.series.interval_minutes))
    return hourly.reindex(hours.index).where(~_aside(hours["local_day"], source.events).to_numpy())


def _aside(days: pd.Series, events: Sequence[Event]) -> pd.Series:
    inside = pd.Series(False, index=days.index)
    for event in (entry for entry in events if entry.treatment == "set aside"):
        inside |= days.between(pd.Timestamp(event.first), pd.Timestamp(event.last))
    return inside

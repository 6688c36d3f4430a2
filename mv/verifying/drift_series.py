"""Each meter's days and hours as the watch for drift takes them."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pandas as pd

from mv.base.clock import period_bounds
from mv.base.estimate import CannotSay
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.drift import COARSEST_MINUTES, DriftSeries, fine_kw, hourly_kw
from mv.verifying.billing import has_bills
from mv.verifying.meter_savings import MeterSavings

SITE = "the site as a whole"


def series_of(study: Study, item: MeterSavings) -> DriftSeries | CannotSay:
    """The meter's reporting days; CannotSay where its readings are bills."""
    assert study.periods is not None
    reporting = study.periods.reporting
    if has_bills(item.series, reporting, study.site.timezone):
        why = (
            "most of its readings in the reporting period are of weeks, months or billing periods: "
            "a change within one leaves no date, and too few of them show what is usual"
        )
        return CannotSay(f"what changed on {item.meter.id} after hand-over", why)
    days, power = item.of_period("reporting"), _power(study, item.series)
    timezone = study.site.timezone
    zones = tuple(zone.id for zone in item.zones)
    return DriftSeries(
        where=zones[0] if len(zones) == 1 else item.meter.id,
        energy_kwh=days["energy_kwh"].where(days["in_fit"]),
        drivers=item.drivers_of("reporting"),
        zones=zones,
        outdoor=item.kind == "outdoor",
        measures=item.meter.measures,
        hourly_kw=None if power is None else hourly_kw(power, timezone),
        fine_kw=None if power is None else fine_kw(power, timezone, item.series.interval_minutes),
    )


def _power(study: Study, series: MeterSeries) -> pd.Series | None:
    """Mean kW of each reading; coarser readings that were spread over finer intervals have no hours."""
    assert study.periods is not None
    if series.interval_minutes > COARSEST_MINUTES:
        return None
    reporting, timezone = study.periods.reporting, study.site.timezone
    power = series.power_kw if series.spread is None else series.power_kw.where(~series.spread)
    start, end = period_bounds(reporting.first, reporting.last, timezone)
    power = power[(power.index >= start) & (power.index < end)]
    return power if power.notna().any() else None


def until_day(item: DriftSeries, last: date) -> DriftSeries:
    """The same series as it was at the end of a day."""
    stop = pd.Timestamp(last)
    return replace(
        item,
        energy_kwh=item.energy_kwh[item.energy_kwh.index <= stop],
        drivers=item.drivers[item.drivers.index <= stop],
        hourly_kw=None if item.hourly_kw is None else item.hourly_kw[item.hourly_kw.index <= stop],
        fine_kw=None if item.fine_kw is None else item.fine_kw[item.fine_kw.index <= stop],
    )


def site_series(series: Sequence[DriftSeries]) -> DriftSeries | None:
    """The indoor lighting meters together: what is too small on each may be plain on all.

    None where there are not two. A day counts on which every meter was read.
    """
    indoor = [item for item in series if item.measures == "lighting" and not item.outdoor]
    if len(indoor) < 2:
        return None
    energy = pd.concat([item.energy_kwh for item in indoor], axis=1).sum(axis=1, min_count=len(indoor))
    hours = [item.hourly_kw for item in indoor]
    known = [table for table in hours if table is not None]
    return DriftSeries(
        where=SITE,
        energy_kwh=energy,
        drivers=indoor[0].drivers,
        zones=tuple(zone for item in indoor for zone in item.zones),
        hourly_kw=_added(known) if len(known) == len(hours) else None,
    )


def _added(tables: Sequence[pd.DataFrame]) -> pd.DataFrame:
    total = tables[0]
    for table in tables[1:]:
        total = total + table.reindex(total.index)
    return total

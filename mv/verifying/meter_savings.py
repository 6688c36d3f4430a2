"""One meter from its days to its savings: drivers, both models, avoided and normalised energy."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.estimate import Answer, CannotSay
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Event, Span, Study, Zone
from mv.cleaning import daily_energy
from mv.drivers import sun_elevation_deg
from mv.regression import FittedModel, Kind, fit, fit_bills, follows_darkness
from mv.savings import (
    AvoidedEnergy,
    NormalisedSavings,
    avoided_energy,
    in_unseen_months,
    normalised_annual,
    unseen_season,
)
from mv.verifying.billing import bills_of, bills_of_days, has_bills, without_events
from mv.verifying.hourly_sums import BASELINE_SUM, REPORTING_SUM, HourlySource, with_hourly_sums
from mv.verifying.site_drivers import DayDrivers, SiteDrivers

# Told from the meter where the study does not say: lamps that burn by night and hardly by day.
# Common practice, no source.
DAY_ELEVATION_DEG, NIGHT_ELEVATION_DEG = 5.0, -8.0
MOST_MINUTES_TO_SEE_NIGHT = 60  # longer readings hold day and night in one: there the days' energy tells
LEAST_READINGS = 7 * 24
ENOUGH_READINGS, EVERY = 20_000, 7  # every 7th reading runs through all times of the day
MOST_BY_DAY, LEAST_BY_NIGHT = 0.05, 0.5  # of the upper plateau (95th percentile)


@dataclass(frozen=True)
class MeterSavings:
    """What one meter proves. `days` is by local day over both periods: energy, drivers, `period`."""

    meter: Meter
    series: MeterSeries
    zones: tuple[Zone, ...]
    kind: Kind
    kind_told_from_meter: bool
    days: pd.DataFrame
    drivers: pd.DataFrame
    typical: pd.DataFrame
    baseline_model: FittedModel | CannotSay
    reporting_model: FittedModel | CannotSay
    avoided: AvoidedEnergy | CannotSay
    normalised: NormalisedSavings | CannotSay
    events: tuple[Event, ...] = ()
    confidence: float = 0.9
    no_hourly: str | None = None  # why no hourly model was tried

    @cached_property
    def extrapolated_share(self) -> dict[str, float | None]:
        """Share of the energy in months of the year never metered: of the expected energy of the
        reporting period ("avoided"), of each model's typical year ("baseline_year", "reporting_year").
        """
        shares: dict[str, float | None] = dict.fromkeys(("avoided", "baseline_year", "reporting_year"))
        if not isinstance(self.normalised, CannotSay):
            shares |= {f"{name}_year": share for name, share in self.normalised.extrapolated_share.items()}
        if not isinstance(self.baseline_model, CannotSay):
            late = self.baseline_model.expected(self.drivers_of("reporting"))
            unseen = in_unseen_months(late, pd.DatetimeIndex(self.baseline_model.known.index))
            total = float(late.sum())
            shares["avoided"] = unseen / total if total else 0.0
        return shares

    @property
    def total(self) -> Answer:
        """Avoided energy over the reporting period, kWh."""
        return self.avoided if isinstance(self.avoided, CannotSay) else self.avoided.total

    @property
    def annual(self) -> Answer:
        """Savings in a typical year, kWh."""
        return self.normalised if isinstance(self.normalised, CannotSay) else self.normalised.annual

    def metering_half_width(self, what: str) -> float:
        """The part of the meter's own accuracy in the interval of "avoided_kwh" or of a typical year."""
        if what == "avoided_kwh" and not isinstance(self.avoided, CannotSay):
            return float(self.avoided.parts.get("metering", 0.0))
        annual = self.annual
        return 0.0 if isinstance(annual, CannotSay) else self.meter.own_error.fraction * abs(annual.estimate)

    def of_period(self, name: str) -> pd.DataFrame:
        """The days of one period."""
        return self.days[self.days["period"] == name]

    def drivers_of(self, name: str) -> pd.DataFrame:
        """The drivers of one period's days."""
        return self.drivers[self.days["period"] == name]


def meter_savings(study: Study, meter: Meter, series: MeterSeries, site: SiteDrivers) -> MeterSavings:
    """Both models of one meter and what they prove."""
    assert study.periods is not None
    zones = study.zones_of(meter.id)
    known = site.by_day(zones)
    days = _days(study, series, pd.DatetimeIndex(known.days.index))
    kind, told = _kind(study, meter, series, zones, days, known.days)
    events = events_of(study, meter.id)
    source = _Source(study, meter, series, kind, events)
    drivers, typical, no_hourly = _hourly(source, site, zones, known)
    in_base = (days["period"] == "baseline").to_numpy()
    usable = days["energy_kwh"].where(days["in_fit"])
    base_drivers, late_drivers = drivers[in_base], drivers[~in_base]
    base_span, late_span = _spans(study)
    baseline = _model(source, base_span, usable[in_base], base_drivers, (late_drivers, typical), BASELINE_SUM)
    reporting = _model(source, late_span, usable[~in_base], late_drivers, (typical,), REPORTING_SUM)
    return MeterSavings(
        meter, series, zones, kind, told, days, drivers, typical, baseline, reporting,
        _avoided(study, meter, baseline, reporting, late_drivers, days["energy_kwh"][~in_base], events),
        _normalised(study, meter, baseline, reporting, typical), events, study.study.confidence, no_hourly,
    )  # fmt: skip


@dataclass(frozen=True)
class _Source:
    """What both periods' models of a meter share."""

    study: Study
    meter: Meter
    series: MeterSeries
    kind: Kind
    events: tuple[Event, ...]


def _model(
    source: _Source,
    span: Span,
    usable: pd.Series,
    drivers: pd.DataFrame,
    applied_to: Sequence[pd.DataFrame],
    hourly_sum: str,
) -> FittedModel | CannotSay:
    """The period's model at the resolution that its readings have, or that the study fixes."""
    bills = _bills(source, span, usable)
    known = hourly_sum if hourly_sum in drivers else None
    if bills is None and known is None and source.meter.model == "hourly":
        return CannotSay("model", 'the study asks for model = "hourly", but there is no hourly model')
    if bills is None:
        return fit(
            usable,
            drivers,
            kind=source.kind,
            events=source.events,
            applied_to=applied_to,
            hourly_sum=known,
            only_hourly=source.meter.model == "hourly",
        )
    bills = without_events(bills, source.events)
    return fit_bills(
        bills["energy_kwh"],
        bills["last_day"],
        drivers,
        kind=source.kind,
        events=source.events,
        applied_to=applied_to,
    )


def _hourly(
    source: _Source, site: SiteDrivers, zones: tuple[Zone, ...], known: DayDrivers
) -> tuple[pd.DataFrame, pd.DataFrame, str | None]:
    """Drivers with the hourly models' daily sums, or the reason why there are none."""
    if source.meter.model not in (None, "hourly"):
        return known.days, known.typical, f'the study fixes model = "{source.meter.model}"'
    if source.kind == "outdoor":
        return known.days, known.typical, "outdoor lights follow darkness, which the days hold in full"
    whole = source.kind == "whole building"
    hourly = HourlySource(source.study, source.series, site, zones, source.events, whole)
    return with_hourly_sums(hourly, known.days, known.typical)


def _bills(source: _Source, span: Span, usable: pd.Series) -> pd.DataFrame | None:
    """The period's bills, weeks or months; None where it is modelled by days."""
    wanted, timezone = source.meter.model, source.study.site.timezone
    if wanted == "bills" or (wanted is None and has_bills(source.series, span, timezone)):
        return bills_of(source.series, span, timezone)
    if wanted == "weekly" or wanted == "monthly":
        return bills_of_days(usable, wanted)
    return None


def events_of(study: Study, meter: str) -> tuple[Event, ...]:
    """The non-routine events that concern a meter."""
    return tuple(event for event in study.event if not event.meters or meter in event.meters)


def _spans(study: Study) -> tuple[Span, Span]:
    assert study.periods is not None
    return study.periods.baseline, study.periods.reporting


def _days(study: Study, series: MeterSeries, index: pd.DatetimeIndex) -> pd.DataFrame:
    baseline, _ = _spans(study)
    days = daily_energy(series, study.site.timezone).reindex(index)
    days["in_fit"] = days["in_fit"].eq(True)
    days["period"] = np.where(index <= pd.Timestamp(baseline.last), "baseline", "reporting")
    return days


def _kind(
    study: Study,
    meter: Meter,
    series: MeterSeries,
    zones: tuple[Zone, ...],
    days: pd.DataFrame,
    drivers: pd.DataFrame,
) -> tuple[Kind, bool]:
    """What the meter's energy depends on, and whether that was told from the meter itself."""
    if meter.measures == "whole building":
        return "whole building", False
    places = {zone.place for zone in zones}
    if places == {"outdoor"}:
        return "outdoor", False
    if places - {None}:
        return "indoor", False
    baseline, _ = _spans(study)
    if has_bills(series, baseline, study.site.timezone):
        return "indoor", False
    power = _power_as_read(study, series)
    if len(power) >= LEAST_READINGS:
        outdoor = _burns_by_night_only(study, power)
    else:
        seen = ((days["period"] == "baseline") & days["in_fit"]).to_numpy()
        outdoor = follows_darkness(days["energy_kwh"][seen], drivers[seen])
    return ("outdoor", True) if outdoor else ("indoor", False)


def _power_as_read(study: Study, series: MeterSeries) -> pd.Series:
    """The baseline's power where readings are short enough to tell night from day."""
    baseline, _ = _spans(study)
    start, end = period_bounds(baseline.first, baseline.last, study.site.timezone)
    power = series.power_kw if series.spread is None else series.power_kw[~series.spread]
    power = power[start : end - pd.Timedelta(seconds=1)].dropna()
    return power if series.interval_minutes <= MOST_MINUTES_TO_SEE_NIGHT else power[:0]


def _burns_by_night_only(study: Study, power: pd.Series) -> bool:
    power = power.iloc[:: EVERY if len(power) > ENOUGH_READINGS else 1]
    sun = sun_elevation_deg(pd.DatetimeIndex(power.index), study.site.latitude, study.site.longitude)
    plateau = float(power.quantile(0.95))
    by_day, by_night = power[sun > DAY_ELEVATION_DEG], power[sun < NIGHT_ELEVATION_DEG]
    if plateau <= 0 or min(len(by_day), len(by_night)) < 48:
        return False
    return bool(by_day.mean() < MOST_BY_DAY * plateau and by_night.mean() > LEAST_BY_NIGHT * plateau)


def _avoided(
    study: Study,
    meter: Meter,
    baseline: FittedModel | CannotSay,
    reporting: FittedModel | CannotSay,
    drivers: pd.DataFrame,
    actual: pd.Series,
    events: tuple[Event, ...],
) -> AvoidedEnergy | CannotSay:
    if isinstance(baseline, CannotSay):
        return CannotSay(f"avoided energy of {meter.id}", f"baseline: {baseline.why}")
    if not np.isfinite(actual).any():
        return CannotSay(f"avoided energy of {meter.id}", "no reporting day has a usable reading")
    return avoided_energy(
        baseline,
        drivers,
        actual,
        confidence=study.study.confidence,
        reporting_model=None if isinstance(reporting, CannotSay) else reporting,
        metering_accuracy=meter.own_error.fraction,
        events=events,
        unseen_months=unseen_season(baseline.kind, pd.DatetimeIndex(baseline.known.index)),
    )


def _normalised(
    study: Study,
    meter: Meter,
    baseline: FittedModel | CannotSay,
    reporting: FittedModel | CannotSay,
    typical: pd.DataFrame,
) -> NormalisedSavings | CannotSay:
    for name, model in (("baseline", baseline), ("reporting", reporting)):
        if isinstance(model, CannotSay):
            return CannotSay(f"savings of {meter.id} in a typical year", f"{name}: {model.why}")
    assert isinstance(baseline, FittedModel) and isinstance(reporting, FittedModel)
    return normalised_annual(
        baseline,
        reporting,
        typical,
        confidence=study.study.confidence,
        metering_accuracy=meter.own_error.fraction,
        metered_days=(pd.DatetimeIndex(baseline.known.index), pd.DatetimeIndex(reporting.known.index)),
    )

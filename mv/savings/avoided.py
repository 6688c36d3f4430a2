"""Avoided energy: what the old lights would have used at reporting conditions, less the meter."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.mixture import StudentMixture
from mv.base.study_records import Event
from mv.savings.model import EnergyModel, PublishedHalfWidth
from mv.savings.short_metering import OUTDOOR_UNSEEN_MONTH_SHARE

# Above this share of days without a usable reading no total is given (common practice, no source).
LARGEST_MODELLED_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class PeriodAvoided:
    """One month, or another group of days. `modelled_days`: days the reporting model stood in for."""

    name: str
    days: int
    modelled_days: int
    expected_kwh: float
    actual_kwh: float
    avoided: Estimate


@dataclass(frozen=True)
class AvoidedEnergy:
    """Avoided energy of one meter over the reporting period, kWh.

    `total` = `expected_kwh` - `actual_kwh`, the actual of days without a usable reading being the
    reporting model's. `parts` are half-widths by cause ("model", "metering", "days without readings",
    "events", "season not metered"). `untreated` is the total without any event's treatment; None where
    no event was treated. `to_date` is from the first day to the end of each month. `by_day` has columns
    expected_kwh, actual_kwh (NaN where not metered), modelled_kwh.
    """

    total: Answer
    expected_kwh: float
    actual_kwh: float
    days: int
    modelled_days: int
    monthly: tuple[PeriodAvoided, ...]
    by_day: pd.DataFrame
    parts: Mapping[str, float]
    published: tuple[PublishedHalfWidth, ...]
    untreated: Answer | None
    notes: tuple[str, ...]
    to_date: tuple[PeriodAvoided, ...] = ()

    @property
    def modelled_share(self) -> float:
        """Share of days on which the reporting model stands in for the meter."""
        return self.modelled_days / self.days if self.days else 0.0


@dataclass(frozen=True)
class _Case:
    """All that a total over some of the days needs."""

    model: EnergyModel
    reporting_model: EnergyModel | None
    drivers: pd.DataFrame
    actual: pd.Series
    confidence: float
    metering_fraction: float
    modelled_events: tuple[Event, ...]
    unseen_months: frozenset[int] = frozenset()


def avoided_energy(
    model: EnergyModel,
    drivers: pd.DataFrame,
    actual: pd.Series,
    *,
    confidence: float,
    reporting_model: EnergyModel | None = None,
    metering_accuracy: float = 0.0,
    events: Sequence[Event] = (),
    unseen_months: frozenset[int] = frozenset(),
) -> AvoidedEnergy:
    """Baseline `model` at the reporting days' `drivers`, less the metered `actual` (kWh by local day).

    Days of `drivers` without a finite actual are stood in for by `reporting_model`, their
    uncertainty in the interval; without one they are left out on both sides. `metering_accuracy` is
    the meter's fraction of reading at `confidence`; one meter errs alike in both periods, so it acts
    on the difference. Events: "set aside" days leave both sides; the effect of "model" events, sized
    by the reporting model, is taken out of the actual; "note only" changes nothing. The expected energy
    of `unseen_months` (of the year, from `unseen_season`) may be out by 2 %, all of it alike.
    """
    aside = [event for event in events if event.treatment == "set aside"]
    sized = tuple(event for event in events if event.treatment == "model")
    kept = drivers[~_within(drivers.index, aside)]
    case = _Case(model, reporting_model, kept, actual.reindex(kept.index), confidence,
                 metering_accuracy, sized, unseen_months)  # fmt: skip
    case, notes = _countable(case)
    by_day = _by_day(case)
    days, modelled = len(by_day), int(by_day["actual_kwh"].isna().sum())
    if days == 0 or modelled > LARGEST_MODELLED_SHARE * days:
        why = "no day has a usable reading" if days == modelled else (
            f"{modelled} of {days} reporting days have no usable reading; "
            f"at most {LARGEST_MODELLED_SHARE:.0%} may be modelled"
        )  # fmt: skip
        return _nothing(CannotSay("avoided_kwh", why), by_day, modelled, notes)
    total, parts = _total(case)
    untreated: Answer | None = None
    if aside or sized:
        plain = _Case(model, reporting_model, drivers, actual.reindex(drivers.index), confidence,
                      metering_accuracy, (), unseen_months)  # fmt: skip
        untreated = _total(_countable(plain)[0])[0].estimate(confidence)
    if aside:
        notes = (*notes, f"{len(drivers) - len(kept)} days of events are set aside on both sides.")
    return AvoidedEnergy(
        total=total.estimate(confidence),
        expected_kwh=float(by_day["expected_kwh"].sum()),
        actual_kwh=float(by_day["expected_kwh"].sum() - total.mean),
        days=days,
        modelled_days=modelled,
        monthly=_monthly(case),
        to_date=_to_date(case),
        by_day=by_day,
        parts=parts,
        published=tuple(model.published_intervals(case.drivers, confidence)),
        untreated=untreated,
        notes=notes,
    )


def avoided_by(
    model: EnergyModel,
    drivers: pd.DataFrame,
    actual: pd.Series,
    groups: pd.Series,
    *,
    confidence: float,
    reporting_model: EnergyModel | None = None,
    metering_accuracy: float = 0.0,
) -> tuple[PeriodAvoided, ...]:
    """Avoided energy of each group of days; `groups` names each day of `drivers`."""
    plain = _Case(model, reporting_model, drivers, actual.reindex(drivers.index), confidence,
                  metering_accuracy, ())  # fmt: skip
    case, _ = _countable(plain)
    labels = groups.reindex(case.drivers.index)
    return tuple(_period(case, str(name), labels == name) for name in labels.dropna().unique())


def _within(index: pd.Index, events: Sequence[Event]) -> "pd.Series[bool]":
    days = index.to_series()
    inside = pd.Series(False, index=index)
    for event in events:
        inside |= days.between(pd.Timestamp(event.first), pd.Timestamp(event.last))
    return inside


def _countable(case: _Case) -> tuple[_Case, tuple[str, ...]]:
    """Without a reporting model, only days with a reading count, and a note says how many do not."""
    metered = np.isfinite(case.actual.to_numpy(dtype=np.float64))
    missing = int((~metered).sum())
    if missing == 0:
        return case, ()
    if case.reporting_model is not None:
        share = missing / len(metered)
        note = f"{missing} days ({share:.1%}) have no usable reading; the reporting model stands in."
        return case, (note,)
    kept = _Case(case.model, None, case.drivers[metered], case.actual[metered], case.confidence,
                 case.metering_fraction, case.modelled_events, case.unseen_months)  # fmt: skip
    return kept, (f"{missing} days have no usable reading and are left out on both sides.",)


def _by_day(case: _Case) -> pd.DataFrame:
    table = pd.DataFrame({"expected_kwh": case.model.expected(case.drivers), "actual_kwh": case.actual})
    missing = table["actual_kwh"].isna()
    table["modelled_kwh"] = np.nan
    if case.reporting_model is not None and missing.any():
        table.loc[missing, "modelled_kwh"] = case.reporting_model.expected(case.drivers[missing])
    return table


def _total(case: _Case) -> tuple[StudentMixture, dict[str, float]]:
    """Belief about the avoided energy of all days of the case, and half-widths by cause."""
    belief = case.model.predicted_total(case.drivers).moved(add=-float(case.actual.sum()))
    z = _normal(case.confidence)
    parts = {"model": _half_width(belief, case.confidence)}
    unseen = pd.DatetimeIndex(case.drivers.index).month.isin(case.unseen_months)
    if unseen.any():
        error = OUTDOOR_UNSEEN_MONTH_SHARE * abs(float(case.model.expected(case.drivers[unseen]).sum()))
        belief = belief.widened(error**2)
        parts["season not metered"] = z * error
    missing = case.actual.isna()
    if missing.any() and case.reporting_model is not None:
        stand_in = case.reporting_model.predicted_total(case.drivers[missing])
        belief = belief.moved(add=-stand_in.mean).widened(stand_in.standard_deviation**2)
        parts["days without readings"] = z * stand_in.standard_deviation
    for event in case.modelled_events:
        term = f"event:{event.first}:{event.last}"
        model = case.reporting_model
        effect = model.effect_total(term, case.drivers) if model is not None else None
        if effect is not None:
            belief = belief.moved(add=effect.mean).widened(effect.standard_deviation**2)
            parts["events"] = float(np.hypot(parts.get("events", 0.0), z * effect.standard_deviation))
    if case.metering_fraction:
        parts["metering"] = case.metering_fraction * abs(belief.mean)
        belief = belief.widened((parts["metering"] / z) ** 2)
    return belief, parts


def _half_width(belief: StudentMixture, confidence: float) -> float:
    tail = (1 - confidence) / 2
    return (belief.quantile(1 - tail) - belief.quantile(tail)) / 2


def _normal(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2))


def _monthly(case: _Case) -> tuple[PeriodAvoided, ...]:
    months = pd.DatetimeIndex(case.drivers.index).strftime("%Y-%m").to_numpy()
    return tuple(_period(case, name, months == name) for name in dict.fromkeys(months))


def _to_date(case: _Case) -> tuple[PeriodAvoided, ...]:
    """The running total: its days' errors are drawn together, as those of the whole period are."""
    months = pd.DatetimeIndex(case.drivers.index).strftime("%Y-%m").to_numpy()
    return tuple(_period(case, name, months <= name) for name in dict.fromkeys(months))


def _period(case: _Case, name: str, chosen: "pd.Series[bool]") -> PeriodAvoided:
    part = _Case(case.model, case.reporting_model, case.drivers[chosen], case.actual[chosen],
                 case.confidence, case.metering_fraction, case.modelled_events,
                 case.unseen_months)  # fmt: skip
    belief, _ = _total(part)
    expected = float(case.model.expected(part.drivers).sum())
    return PeriodAvoided(
        name=name,
        days=len(part.drivers),
        modelled_days=int(part.actual.isna().sum()),
        expected_kwh=expected,
        actual_kwh=expected - belief.mean,
        avoided=belief.estimate(case.confidence),
    )


def _nothing(why: CannotSay, by_day: pd.DataFrame, modelled: int, notes: tuple[str, ...]) -> AvoidedEnergy:
    return AvoidedEnergy(
        total=why, expected_kwh=float(by_day["expected_kwh"].sum()),
        actual_kwh=float(by_day["actual_kwh"].sum()), days=len(by_day), modelled_days=modelled,
        monthly=(), by_day=by_day, parts={}, published=(), untreated=None, notes=notes,
    )  # fmt: skip

"""Avoided energy: what the old lights would have used at reporting conditions, less the meter."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.mixture import StudentMixture, estimates, quantiles
from mv.base.study_records import Event
from mv.savings.model import EnergyModel, PublishedHalfWidth
from mv.savings.short_metering import BEYOND_WEATHER_SHARE, own_change_kwh

BoolArray = npt.NDArray[np.bool_]

# Above this share of days without a usable reading no total is given (common practice, no source).
LARGEST_MODELLED_SHARE = 0.25
LATE_DAYS = 28  # before the readings end, whose departure from the model may go on (no source)


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
    "events", "season not metered", "weather not seen", "the building's own change"). `untreated` is the
    total without any event's treatment; None where no event was treated. `to_date` is from the first day
    to the end of each month. `by_day` has columns expected_kwh, actual_kwh (NaN where not metered),
    modelled_kwh.
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
    unseen_months: Mapping[int, float] = field(default_factory=dict)


def avoided_energy(
    model: EnergyModel,
    drivers: pd.DataFrame,
    actual: pd.Series,
    *,
    confidence: float,
    reporting_model: EnergyModel | None = None,
    metering_accuracy: float = 0.0,
    events: Sequence[Event] = (),
    unseen_months: Mapping[int, float] | None = None,
) -> AvoidedEnergy:
    """Baseline `model` at the reporting days' `drivers`, less the metered `actual` (kWh by local day).

    Days of `drivers` without a finite actual are stood in for by `reporting_model`, their
    uncertainty in the interval, and of those after the last reading how far the last four weeks lie off
    that model; without one they are left out on both sides. `metering_accuracy` is
    the meter's fraction of reading at `confidence`; one meter errs alike in both periods, so it acts
    on the difference. Events: "set aside" days leave both sides; the effect of "model" events, sized
    by the reporting model, is taken out of the actual; "note only" changes nothing. The expected energy
    of `unseen_months` (of the year, from `unseen_season`) may be out by the share given there, all alike.
    """
    aside = [event for event in events if event.treatment == "set aside"]
    sized = tuple(event for event in events if event.treatment == "model")
    kept = drivers[~_within(drivers.index, aside)]
    case = _Case(model, reporting_model, kept, actual.reindex(kept.index), confidence,
                 metering_accuracy, sized, unseen_months or {})  # fmt: skip
    case, notes = _countable(case)
    by_day = _by_day(case)
    days, modelled = len(by_day), int(by_day["actual_kwh"].isna().sum())
    if days == 0 or modelled > LARGEST_MODELLED_SHARE * days:
        why = "no day has a usable reading" if days == modelled else (
            f"{modelled} of {days} reporting days have no usable reading; "
            f"at most {LARGEST_MODELLED_SHARE:.0%} may be modelled"
        )  # fmt: skip
        return _nothing(CannotSay("avoided_kwh", why), by_day, modelled, notes)
    total, periods = _whole_and_periods(case)
    untreated: Answer | None = None
    if aside or sized:
        plain = _Case(model, reporting_model, drivers, actual.reindex(drivers.index), confidence,
                      metering_accuracy, (), unseen_months or {})  # fmt: skip
        untreated = _whole(_countable(plain)[0]).belief.estimate(confidence)
    if aside:
        notes = (*notes, f"{len(drivers) - len(kept)} days of events are set aside on both sides.")
    return AvoidedEnergy(
        total=total.belief.estimate(confidence),
        expected_kwh=float(by_day["expected_kwh"].sum()),
        actual_kwh=float(by_day["expected_kwh"].sum() - total.belief.mean),
        days=days,
        modelled_days=modelled,
        monthly=periods[: len(periods) // 2],
        to_date=periods[len(periods) // 2 :],
        by_day=by_day,
        parts=total.parts(confidence),
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
    names = [str(name) for name in labels.dropna().unique()]
    named = [np.asarray(labels == name, dtype=bool) for name in names]
    return _periods(case, names, named, _totals(case, named) if named else [])


def avoided_on_metered_days(
    model: EnergyModel,
    drivers: pd.DataFrame,
    actual: pd.Series,
    *,
    confidence: float,
    metering_accuracy: float,
) -> tuple[Estimate | None, int]:
    """The total alone, over the days of `drivers` with a reading, and their number; None without any."""
    plain = _Case(model, None, drivers, actual.reindex(drivers.index), confidence, metering_accuracy, ())
    case, _ = _countable(plain)
    days = len(case.drivers)
    return (_whole(case).belief.estimate(confidence) if days else None), days


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


@dataclass(frozen=True)
class _Total:
    """Belief about avoided energy, the model's own, and standard errors by other causes."""

    belief: StudentMixture
    own: StudentMixture
    errors: Mapping[str, float]

    def parts(self, confidence: float) -> dict[str, float]:
        """Half-widths by cause."""
        tail, z = (1 - confidence) / 2, _normal(confidence)
        low, high = quantiles([self.own], np.array([tail, 1 - tail]))[0]
        return {"model": float(high - low) / 2} | {name: z * error for name, error in self.errors.items()}


def _whole(case: _Case) -> _Total:
    return _totals(case, [np.ones(len(case.drivers), dtype=bool)])[0]


def _totals(case: _Case, groups: Sequence[BoolArray]) -> list[_Total]:
    """Belief about the avoided energy of each group of days."""
    expected = case.model.expected(case.drivers).to_numpy()
    months = pd.Series(pd.DatetimeIndex(case.drivers.index).month)
    doubtful = expected * months.map(case.unseen_months).fillna(0.0).to_numpy(dtype=np.float64)
    beyond = case.model.beyond_weather(case.drivers).to_numpy()
    actual = case.actual.to_numpy(dtype=np.float64)
    beliefs = case.model.predicted_totals(case.drivers, groups)
    after_last, late = _after_the_last_reading(case)
    totals = []
    for own, stand_in, group in zip(beliefs, _stand_ins(case, groups), groups, strict=True):
        own = own.moved(add=-float(np.nansum(actual[group])))
        belief, errors = own, dict[str, float]()
        if error := own_change_kwh(case.model.kind, float(expected[group].sum())):
            belief, errors["the building's own change"] = belief.widened(error**2), error
        if doubtful[group].any():
            error = abs(float(doubtful[group].sum()))
            belief, errors["season not metered"] = belief.widened(error**2), error
        if beyond[group].any():
            error = BEYOND_WEATHER_SHARE * abs(float(beyond[group].sum()))
            belief, errors["weather not seen"] = belief.widened(error**2), error
        if stand_in is not None:
            error = float(np.hypot(stand_in.standard_deviation, late * int((after_last & group).sum())))
            belief = belief.moved(add=-stand_in.mean).widened(error**2)
            errors["days without readings"] = error
        for effect in _effects(case, group):
            error = effect.standard_deviation
            belief = belief.moved(add=effect.mean).widened(error**2)
            errors["events"] = float(np.hypot(errors.get("events", 0.0), error))
        if case.metering_fraction:
            error = case.metering_fraction * abs(belief.mean) / _normal(case.confidence)
            belief, errors["metering"] = belief.widened(error**2), error
        totals.append(_Total(belief, own, errors))
    return totals


def _after_the_last_reading(case: _Case) -> tuple[BoolArray, float]:
    """The days after the last reading, and by how many kWh a day the metered days before them lie off the
    reporting model, which may go on: what changed late in the period is not in its average."""
    metered = np.flatnonzero(case.actual.notna().to_numpy())
    after = np.zeros(len(case.actual), dtype=bool)
    if not len(metered) or case.reporting_model is None or metered[-1] == len(after) - 1:
        return after, 0.0
    after[metered[-1] + 1 :] = True
    last = metered[-LATE_DAYS:]
    off = case.actual.iloc[last] - case.reporting_model.expected(case.drivers.iloc[last])
    return after, abs(float(off.mean()))


def _stand_ins(case: _Case, groups: Sequence[BoolArray]) -> list[StudentMixture | None]:
    """What the reporting model believes of each group's days without a reading; None without such days."""
    missing = case.actual.isna().to_numpy()
    if not missing.any() or case.reporting_model is None:
        return [None] * len(groups)
    inside = [group[missing] for group in groups]
    totals = case.reporting_model.predicted_totals(case.drivers[missing], inside)
    return [total if days.any() else None for total, days in zip(totals, inside, strict=True)]


def _effects(case: _Case, group: BoolArray) -> list[StudentMixture]:
    """The effects on a group of days of the events that the reporting model sizes."""
    model, days = case.reporting_model, case.drivers[group] if case.modelled_events else case.drivers
    if model is None:
        return []
    terms = [f"event:{event.first}:{event.last}" for event in case.modelled_events]
    return [effect for term in terms if (effect := model.effect_total(term, days)) is not None]


def _normal(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2))


def _whole_and_periods(case: _Case) -> tuple[_Total, tuple[PeriodAvoided, ...]]:
    """All days; and each month, then the running totals, the last of which is of all days again.

    Their days' errors are drawn together, as the whole's are.
    """
    months = pd.DatetimeIndex(case.drivers.index).strftime("%Y-%m").to_numpy()
    names = list(dict.fromkeys(months))
    groups = [months == name for name in names] + [months <= name for name in names]
    totals = _totals(case, groups)
    return totals[-1], _periods(case, names * 2, groups, totals)


def _periods(
    case: _Case, names: Sequence[str], groups: Sequence[BoolArray], totals: Sequence[_Total]
) -> tuple[PeriodAvoided, ...]:
    expected = case.model.expected(case.drivers).to_numpy()
    missing = case.actual.isna().to_numpy()
    beliefs = [total.belief for total in totals]
    return tuple(
        PeriodAvoided(
            name=name,
            days=int(group.sum()),
            modelled_days=int((missing & group).sum()),
            expected_kwh=float(expected[group].sum()),
            actual_kwh=float(expected[group].sum()) - belief.mean,
            avoided=avoided,
        )
        for name, group, belief, avoided in zip(
            names, groups, beliefs, estimates(beliefs, case.confidence), strict=True
        )
    )


def _nothing(why: CannotSay, by_day: pd.DataFrame, modelled: int, notes: tuple[str, ...]) -> AvoidedEnergy:
    return AvoidedEnergy(
        total=why, expected_kwh=float(by_day["expected_kwh"].sum()),
        actual_kwh=float(by_day["actual_kwh"].sum()), days=len(by_day), modelled_days=modelled,
        monthly=(), by_day=by_day, parts={}, published=(), untreated=None, notes=notes,
    )  # fmt: skip

"""Avoided energy, normalised savings, the peak window, and meters together."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.study_records import Event, Study
from mv.drivers import daily_drivers, typical_year
from mv.regression import FittedModel, fit
from mv.savings import (
    avoided_by,
    avoided_energy,
    combine,
    mean_reduction,
    normalised_annual,
    residual_correlation,
)

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 48.1, "longitude": 11.6, "timezone": "Europe/Berlin"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00"}},
    }
)
DAYS = daily_drivers(STUDY, date(2022, 1, 1), date(2023, 12, 31))
BEFORE, AFTER = DAYS[:"2022-12-31"], DAYS["2023-01-01":]
OLD = 10 + 9 * DAYS["hours_open"] + np.random.default_rng(0).normal(0, 6, len(DAYS))
NEW = 0.4 * OLD[AFTER.index]
MODEL = fit(OLD[BEFORE.index], BEFORE)
AFTER_MODEL = fit(NEW, AFTER)
assert isinstance(MODEL, FittedModel)
assert isinstance(AFTER_MODEL, FittedModel)


def _total(**options: object) -> Estimate:
    actual = options.pop("actual", NEW)
    result = avoided_energy(MODEL, AFTER, actual, confidence=0.9, **options)
    assert isinstance(result.total, Estimate)
    return result.total


def test_the_total_is_expected_less_actual_and_holds_the_truth() -> None:
    result = avoided_energy(MODEL, AFTER, NEW, confidence=0.9)
    truth = float((OLD[AFTER.index] - NEW).sum())
    assert isinstance(result.total, Estimate)
    assert result.total.low < truth < result.total.high
    assert result.total.estimate == pytest.approx(result.expected_kwh - result.actual_kwh)
    assert result.actual_kwh == pytest.approx(NEW.sum())
    assert sum(m.avoided.estimate for m in result.monthly) == pytest.approx(result.total.estimate)
    assert len(result.monthly) == 12


def test_the_running_total_ends_in_the_total_and_its_months_err_together() -> None:
    result = avoided_energy(MODEL, AFTER, NEW, confidence=0.9)
    last = result.to_date[-1].avoided
    assert isinstance(result.total, Estimate)
    assert last.as_json() == pytest.approx(result.total.as_json(), rel=1e-12)
    sums = np.cumsum([month.avoided.estimate for month in result.monthly])
    assert [part.avoided.estimate for part in result.to_date] == pytest.approx(list(sums))
    halves = np.array([float(m.avoided.high) - float(m.avoided.low) for m in result.monthly]) / 2
    reach = (float(last.high) - float(last.low)) / 2
    assert np.sqrt(np.sum(halves**2)) < reach <= np.sum(halves)  # one model: neither apart nor in step


def test_a_wider_confidence_gives_a_wider_interval() -> None:
    half = [_width(avoided_energy(MODEL, AFTER, NEW, confidence=c).total) for c in (0.5, 0.8, 0.9, 0.99)]
    assert half == sorted(half)


def _width(answer: object) -> float:
    assert isinstance(answer, Estimate)
    assert answer.low is not None
    assert answer.high is not None
    return answer.high - answer.low


def test_days_without_readings_are_modelled_counted_and_widen_the_interval() -> None:
    gappy = NEW.copy()
    gappy.iloc[40:70] = np.nan
    result = avoided_energy(MODEL, AFTER, gappy, confidence=0.9, reporting_model=AFTER_MODEL)
    assert isinstance(result.total, Estimate)
    assert result.modelled_days == 30
    assert result.total.estimate == pytest.approx(_total().estimate, rel=0.02)
    assert _width(result.total) > 0.999 * _width(_total())
    assert result.parts["days without readings"] > 0


@pytest.mark.parametrize("missing_days", [20, 60])
def test_what_stands_in_at_the_end_of_the_period_errs_within_what_the_interval_holds_for_it(
    missing_days: int,
) -> None:
    """Days that hang together (lag-1 autocorrelation 0.6) over fifteen invented years."""
    held, halves = 0, []
    for seed in range(15):
        rng = np.random.default_rng(seed)
        noise = np.empty(len(AFTER))
        noise[0] = 3.0 * rng.standard_normal()
        for day in range(1, len(noise)):
            noise[day] = 0.6 * noise[day - 1] + 2.4 * rng.standard_normal()
        truth = 4 + 3.6 * AFTER["hours_open"] + noise
        read = truth.iloc[:-missing_days]
        model = fit(read, AFTER.loc[read.index], applied_to=(AFTER,))
        assert isinstance(model, FittedModel)
        result = avoided_energy(MODEL, AFTER, read, confidence=0.9, reporting_model=model)
        halves.append(result.parts["days without readings"])
        off = result.by_day["modelled_kwh"].sum() - truth.iloc[-missing_days:].sum()
        held += abs(off) <= halves[-1]
    assert held / 15 >= 0.75  # 0.90 less two standard errors
    sure = 1.645 * 3.0 * np.sqrt(missing_days * (1 + 0.6) / (1 - 0.6))  # the noise alone, AR(1)
    assert 0.7 * sure <= np.median(halves) <= 2.0 * sure


def test_a_late_change_that_may_go_on_after_the_last_reading_is_within_the_interval() -> None:
    changed = NEW.copy()
    changed.iloc[-80:] += 15.0
    read = changed.iloc[:-40]
    model = fit(read, AFTER.loc[read.index])
    assert isinstance(model, FittedModel)
    result = avoided_energy(MODEL, AFTER, read, confidence=0.9, reporting_model=model)
    off = changed.iloc[-40:].sum() - result.by_day["modelled_kwh"].sum()
    assert 300 < off <= result.parts["days without readings"]
    quiet = avoided_energy(MODEL, AFTER, NEW.iloc[:-40], confidence=0.9, reporting_model=AFTER_MODEL)
    assert quiet.parts["days without readings"] < 0.5 * result.parts["days without readings"]


def test_without_a_reporting_model_such_days_leave_both_sides() -> None:
    gappy = NEW.copy()
    gappy.iloc[40:70] = np.nan
    result = avoided_energy(MODEL, AFTER, gappy, confidence=0.9)
    assert result.days == 335
    assert "30 days" in result.notes[0]


def test_too_few_readings_give_no_total() -> None:
    gappy = NEW.copy()
    gappy.iloc[:200] = np.nan
    result = avoided_energy(MODEL, AFTER, gappy, confidence=0.9, reporting_model=AFTER_MODEL)
    assert isinstance(result.total, CannotSay)
    assert "200 of 365" in result.total.why


def test_the_meter_s_accuracy_acts_on_the_difference() -> None:
    plain, coarse = _total(), _total(metering_accuracy=0.05)
    by_hand = np.hypot(_width(plain) / 2, 0.05 * plain.estimate)
    assert _width(coarse) / 2 == pytest.approx(by_hand, rel=0.03)


def test_an_event_set_aside_leaves_both_sides_and_the_untreated_total_is_shown() -> None:
    actual = NEW.copy()
    actual["2023-09-04":"2023-09-15"] = 0.0
    event = Event(first=date(2023, 9, 4), last=date(2023, 9, 15), treatment="set aside", reason="roof")
    result = avoided_energy(MODEL, AFTER, actual, confidence=0.9, events=[event])
    assert result.days == 353
    assert isinstance(result.untreated, Estimate)
    assert isinstance(result.total, Estimate)
    assert result.untreated.estimate > result.total.estimate


def test_a_modelled_event_is_taken_out_with_its_own_uncertainty() -> None:
    actual = NEW.copy()
    actual["2023-09-04":"2023-09-15"] += 50.0
    event = Event(first=date(2023, 9, 4), last=date(2023, 9, 15), treatment="model", reason="welding")
    model = fit(actual, AFTER, events=[event])
    result = avoided_energy(MODEL, AFTER, actual, confidence=0.9, events=[event], reporting_model=model)
    assert isinstance(result.total, Estimate)
    assert result.total.estimate == pytest.approx(_total().estimate, rel=0.01)
    assert result.parts["events"] > 0


def test_groups_of_days_add_up_to_the_total() -> None:
    groups = pd.Series(np.where(AFTER["is_open_day"], "open", "closed"), index=AFTER.index)
    parts = avoided_by(MODEL, AFTER, NEW, groups, confidence=0.9)
    assert {part.name for part in parts} == {"open", "closed"}
    assert sum(part.avoided.estimate for part in parts) == pytest.approx(_total().estimate)


def test_nothing_saved_is_not_distinguishable_from_zero() -> None:
    assert not _total(actual=OLD[AFTER.index]).excludes_zero


def test_published_intervals_stand_beside_ours() -> None:
    result = avoided_energy(MODEL, AFTER, NEW, confidence=0.9)
    methods = [entry.method for entry in result.published]
    assert len(methods) == 5
    assert all(entry.half_width and entry.half_width > 0 for entry in result.published)


def test_normalised_savings_put_both_models_in_the_same_year() -> None:
    typical = typical_year(STUDY, DAYS)
    result = normalised_annual(MODEL, AFTER_MODEL, typical, confidence=0.9)
    difference = result.baseline_annual.estimate - result.reporting_annual.estimate
    assert result.annual.estimate == pytest.approx(difference)
    assert result.annual.low < 0.6 * float((10 + 9 * typical["hours_open"]).sum()) < result.annual.high


def test_mean_reduction_is_a_mean_over_the_days_with_readings() -> None:
    window = OLD / 10
    model = fit(window[BEFORE.index], BEFORE)
    assert isinstance(model, FittedModel)
    eligible = AFTER[AFTER["is_open_day"]]["2023-06-01":"2023-08-31"]
    answer = mean_reduction(model, eligible, window[eligible.index] * 0.5, confidence=0.9)
    assert isinstance(answer, Estimate)
    truth = float((window[eligible.index] * 0.5).mean())
    assert answer.low < truth < answer.high


def test_equal_meters_that_err_together_add_their_half_widths() -> None:
    one = Estimate(100.0, 90.0, 110.0, 0.9, 6.0)
    days = pd.date_range("2022-01-01", periods=7 * 200)
    shared = pd.Series(np.random.default_rng(1).normal(size=len(days)), index=days)
    both = combine({"a": one, "b": one}, {"a": shared, "b": shared})
    assert isinstance(both, Estimate)
    assert both.estimate == 200.0
    assert both.high - both.estimate == pytest.approx(20.0, rel=0.02)
    other = pd.Series(np.random.default_rng(2).normal(size=len(days)), index=days)
    apart = combine({"a": one, "b": one}, {"a": shared, "b": other})
    assert isinstance(apart, Estimate)
    assert apart.high - apart.estimate == pytest.approx(np.sqrt(2) * 10, rel=0.08)


def test_metering_errors_of_one_cause_add_as_they_stand() -> None:
    only_metering = Estimate(100.0, 95.0, 105.0, 0.9, 3.0)
    days = pd.date_range("2022-01-01", periods=700)
    draw = np.random.default_rng(3)
    residuals = {name: pd.Series(draw.normal(size=700), index=days) for name in "ab"}
    total = combine(
        {"a": only_metering, "b": only_metering}, residuals, metering_half_widths={"a": 5.0, "b": 5.0}
    )
    assert isinstance(total, Estimate)
    assert total.high - total.estimate == pytest.approx(10.0)


def test_one_silent_meter_silences_the_sum() -> None:
    answer = combine({"a": CannotSay("avoided_kwh", "no readings")}, {})
    assert isinstance(answer, CannotSay)


def test_correlations_stay_a_covariance() -> None:
    draw = np.random.default_rng(4)
    days = pd.date_range("2022-01-01", periods=60)
    residuals = [pd.Series(draw.normal(size=60), index=days) for _ in range(5)]
    assert np.linalg.eigvalsh(residual_correlation(residuals)).min() >= -1e-12

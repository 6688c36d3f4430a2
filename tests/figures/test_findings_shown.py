"""What shows a finding: the days, the levels and the hours that are drawn are those of the record."""

from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv import figures
from mv.base.clock import local_days
from mv.base.verification import Verification


@pytest.fixture
def key(invented: ModuleType) -> str:
    return str(invented.FINDING)


def with_finding(verification: Verification, **changes: Any) -> Verification:
    """The same with its one finding changed."""
    row = {**verification.result["drift"][0], **changes}
    return replace(verification, result={**verification.result, "drift": [row]})


def trace(words: figures.FigureWithWords, name: str) -> Any:
    return next(one for one in words.figure.data if one.name == name)


def test_a_step_is_drawn_day_by_day_with_its_levels_and_its_date(
    verification: Verification, invented: ModuleType, key: str
) -> None:
    words = figures.finding_days(verification, key)
    days = verification.drift_days
    drawn = pd.Series(trace(words, "each day").y, index=pd.to_datetime(list(trace(words, "each day").x)))
    record = (days["actual_kwh"] - days["expected_kwh"]).to_numpy()
    assert np.allclose(drawn[days["day"]], record, atol=0.006)
    assert drawn.drop(days["day"]).isna().all()  # a day without a reading stays empty
    assert list(trace(words, "mean before").y) == [0.0, 0.0]
    assert list(trace(words, "mean since").y) == [5.0, 5.0]
    assert trace(words, "mean since").x[0] == invented.CHANGED
    assert [shape.x0 for shape in words.figure.layout.shapes] == [invented.CHANGED]
    assert "Before 16 September 2024 the mean lay at 0.0" in words.caption
    assert "from then on at +5.0" in words.caption.replace("\u00a0", " ")
    assert "meter LP-1" in words.caption
    assert len(words.table) == len(drawn)


def test_the_level_ends_where_the_finding_or_another_change_does(
    verification: Verification, key: str
) -> None:
    over = with_finding(verification, until="2024-11-30")
    words = figures.finding_days(over, key)
    assert list(trace(words, "mean since").x) == ["2024-09-16", "2024-11-30"]
    assert [shape.x0 for shape in words.figure.layout.shapes] == ["2024-09-16", "2024-12-01"]
    first = verification.result["drift"][0]
    both = [first, {**first, "id": "other", "since": "2024-12-20"}]
    crowded = replace(verification, result={**verification.result, "drift": both})
    words = figures.finding_days(crowded, key)
    assert list(trace(words, "mean since").x) == ["2024-09-16", "2024-12-19"]
    assert "another change, 20 December 2024" in words.caption


def test_the_usual_hours_are_the_medians_of_the_weeks_beside_the_change(
    verification: Verification, key: str
) -> None:
    words = figures.finding_hours(verification, key)
    power = verification.meters["LP-1"].power_kw
    timezone = verification.study.site.timezone
    day = local_days(pd.DatetimeIndex(power.index), timezone)
    hour = pd.DatetimeIndex(power.index).tz_convert(timezone).hour
    inside = (day >= "2024-09-17") & (day < "2024-10-15") & (day.day_of_week < 5)
    by_hour = power[inside].groupby([day[inside], hour[inside]]).mean()
    table = words.table[words.table["kind of day"] == "days open"]
    assert np.allclose(table["since, kW"], by_hour.groupby(level=1).median(), atol=6e-4)
    assert "days open: 20 days before, 20 since" in words.caption
    assert [one.line.dash for one in words.figure.data[:1]] == ["dash"]


def test_spells_are_marked_and_compared_with_the_other_days(verification: Verification, key: str) -> None:
    spells = [["2024-05-01", "2024-05-02"], ["2024-07-10", "2024-07-10"]]
    recurring = with_finding(verification, kind="recurring", spells=spells, since="2024-05-01")
    assert figures.pictures_of(recurring, key) == ("days", "hours")
    words = figures.finding_days(recurring, key)
    marked = trace(words, "in a spell")
    assert list(marked.x) == ["2024-05-01", "2024-05-02", "2024-07-10"]
    assert marked.marker.symbol != trace(words, "each day").marker.symbol
    assert "2 spells, 3 days in all" in words.caption
    assert (words.table["in a spell"] == "yes").sum() == 3
    assert "3 in the spells" in figures.finding_hours(recurring, key).caption


def test_a_steady_change_tells_its_first_and_its_last_weeks(verification: Verification, key: str) -> None:
    steady = with_finding(verification, kind="slope", since=None)
    assert figures.pictures_of(steady, key) == ("days",)
    words = figures.finding_days(steady, key)
    assert list(trace(words, "mean before").x) == ["2024-03-01", "2024-03-28"]
    assert list(trace(words, "mean since").x) == ["2025-02-01", "2025-02-28"]
    assert "first four weeks" in words.caption


def test_a_stretch_without_readings_is_shaded_among_the_days_beside_it(
    verification: Verification, key: str
) -> None:
    gap = with_finding(verification, kind="gap", since="2024-08-31", until="2024-09-01", settings=[])
    assert figures.pictures_of(gap, key) == ("days",)
    words = figures.finding_days(gap, key)
    assert words.table["day"].min() == "2024-08-03" and words.table["day"].max() == "2024-09-29"
    (shade,) = words.figure.layout.shapes
    assert (str(shade.x0)[:10], str(shade.x1)[:10]) == ("2024-08-31", "2024-09-02")
    assert "31 August 2024 to 1 September 2024, have no usable reading" in words.caption


def test_where_no_expectation_could_be_made_the_metered_days_are_shown_and_that_is_said(
    verification: Verification, key: str
) -> None:
    bare = replace(verification, drift_days=verification.drift_days.iloc[:0])
    words = figures.finding_days(bare, key)
    daily = verification.daily
    own = daily[(daily["meter"] == "LP-1") & (daily["period"] == "reporting")]
    assert np.allclose(
        pd.Series(trace(words, "each day").y, dtype=float).dropna(), own["actual_kwh"].dropna(), atol=0.006
    )
    assert "season and use are not taken out" in words.caption


def test_a_setting_never_seen_as_agreed_is_shown_by_its_months(verification: Verification, key: str) -> None:
    undated = with_finding(verification, since=None)
    assert figures.pictures_of(undated, key) == ("setting",)
    words = figures.finding_setting(undated, key)
    assert list(trace(words, "agreed").y) == [80.0, 80.0]
    bare = with_finding(verification, since=None, settings=["off_at_night"])
    assert figures.pictures_of(bare, key) == ("days",)
    assert figures.finding_setting(bare, key).figure is None


def test_hours_that_cannot_be_told_are_refused_with_the_reason(verification: Verification, key: str) -> None:
    meter = replace(verification.meters["LP-1"], interval_minutes=120.0)
    coarse = replace(verification, meters={**verification.meters, "LP-1": meter})
    words = figures.finding_hours(coarse, key)
    assert words.figure is None and "longer than an hour" in words.caption
    late = with_finding(verification, since="2025-02-27")
    assert "Fewer than 4 whole days" in figures.finding_hours(late, key).caption


def test_a_finding_that_is_not_there_is_a_key_error(verification: Verification) -> None:
    with pytest.raises(KeyError):
        figures.finding_days(verification, "nothing")

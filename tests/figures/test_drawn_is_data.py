"""What is in the record is what is drawn, and nothing else."""

from dataclasses import replace
from types import ModuleType

import numpy as np
import pandas as pd
import pytest

from mv import figures
from mv.base.clock import local_days
from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.figures.hour_grid import by_day_and_hour
from mv.figures.profiles import day_table, week_table
from mv.figures.what_was_read import in_periods


@pytest.fixture
def meter(verification: Verification):
    return verification.meters["LP-1"]


@pytest.fixture
def timezone(verification: Verification) -> str:
    return verification.study.site.timezone


@pytest.fixture
def study(verification: Verification) -> Study:
    return verification.study


def test_every_reading_of_a_short_window_is_drawn(meter, study, timezone) -> None:
    start = figures.from_screen("2024-05-06", timezone)
    end = figures.from_screen("2024-05-08", timezone)
    words = figures.readings(meter, study, start=start, end=end)
    trace = words.figure.data[0]
    expected = meter.power_kw[(meter.power_kw.index >= start) & (meter.power_kw.index < end)]
    assert np.allclose(trace.y, expected.round(4))
    assert pd.Timestamp(trace.x[0]) == pd.Timestamp("2024-05-06 00:00")
    assert len(words.table) == 2 * 96
    assert "thinned" not in words.caption


def test_a_long_trace_is_thinned_and_says_so(meter, study, timezone) -> None:
    words = figures.readings(meter, study)
    drawn = np.asarray(words.figure.data[0].y, dtype=float)
    assert np.isfinite(drawn).sum() <= 2000
    assert np.nanmax(drawn) == pytest.approx(meter.power_kw.max(), abs=1e-4)
    assert np.nanmin(drawn) == pytest.approx(meter.power_kw.min(), abs=1e-4)
    assert "thinned to" in words.caption


def test_the_trace_breaks_at_a_gap(meter, study, timezone) -> None:
    start = figures.from_screen("2024-08-31", timezone)
    end = figures.from_screen("2024-09-02", timezone)
    trace = figures.readings(meter, study, start=start, end=end).figure.data[0]
    (hole,) = np.flatnonzero(~np.isfinite(np.asarray(trace.y, dtype=float)))
    before, after = pd.Timestamp(trace.x[hole - 1]), pd.Timestamp(trace.x[hole + 1])
    assert after - before == pd.Timedelta("2h15min")
    assert trace.connectgaps is False


def test_estimated_readings_are_marked(meter, study, timezone) -> None:
    start = figures.from_screen("2024-10-01", timezone)
    words = figures.readings(meter, study, start=start, end=figures.from_screen("2024-10-09", timezone))
    marks = next(trace for trace in words.figure.data if trace.name == "estimated")
    assert len(marks.x) == int(meter.estimated.sum()) == 96
    assert (words.table["estimated"] == "yes").sum() == 96


def test_the_installation_is_not_counted_as_missing_and_rows_are_told_from_intervals(meter, study) -> None:
    """The same counts beside the readings and in the picture of what was read."""
    idle = (meter.energy_kwh.index >= "2024-01-10") & (meter.energy_kwh.index < "2024-02-20")
    meter = replace(meter, energy_kwh=meter.energy_kwh.mask(idle))
    words, map_ = figures.readings(meter, study), figures.coverage_map(meter, study)
    inside = meter.energy_kwh[in_periods(meter.energy_kwh.index, study)]
    blank = int(meter.energy_kwh.isna().sum())
    assert 0 < inside.isna().sum() < blank
    assert f" {inside.isna().sum():,} intervals are missing;" in words.caption
    assert "as during the installation" in words.caption
    assert f"{inside.isna().sum():,} are missing" in map_.caption
    told = f"; the ledger counts the {meter.ledger.estimated_rows} rows of the files behind them)"
    twice = replace(meter, ledger=replace(meter.ledger, estimated_rows=48))
    for drawn in (figures.readings(twice, study), figures.coverage_map(twice, study)):
        assert "; the ledger counts the 48 rows of the files behind them)" in drawn.caption
    equal = meter.ledger.estimated_rows == int(meter.estimated.sum())
    assert (told in words.caption) is not equal


def test_a_window_without_readings_says_why_instead_of_drawing(meter, study, timezone) -> None:
    start = figures.from_screen("2030-01-01", timezone)
    words = figures.readings(meter, study, start=start)
    assert words.figure is None
    assert "No reading" in words.caption


def test_mean_power_of_the_repeated_hour_is_not_doubled(timezone) -> None:
    index = pd.date_range("2023-11-05 05:00", periods=100, freq="15min", tz="UTC")
    grid = by_day_and_hour(pd.Series(3.0, index=index), timezone, "mean")
    assert grid.loc["2023-11-05", 1] == 3.0


def test_the_hour_that_the_clock_skips_is_not_a_fault(verification: Verification, meter) -> None:
    words = figures.coverage_map(meter, verification.study)
    hours = words.figure.data[0]
    day = list(hours.x).index("2024-03-10")
    states = np.asarray(hours.z, dtype=float)[:, day]
    assert (states == 0).all()
    assert "2024-03-10" not in set(words.table["day"])


def test_what_lies_between_the_periods_is_not_missing(verification: Verification, meter) -> None:
    words = figures.coverage_map(meter, verification.study)
    hours = words.figure.data[0]
    day = list(hours.x).index("2024-02-01")
    assert np.isnan(np.asarray(hours.z, dtype=float)[:, day]).all()


def test_the_power_map_adds_up_to_the_energy(verification: Verification, meter, timezone) -> None:
    """Mean kW times the hours behind each cell is the metered energy, short and long days included."""
    power = meter.power_kw.dropna()
    hours = by_day_and_hour(power, timezone, "count") * meter.interval_minutes / 60.0
    words = figures.power_map(meter, verification.study)
    drawn = np.asarray(words.figure.data[0].z, dtype=float).T
    assert np.nansum(drawn * hours.to_numpy()) == pytest.approx(meter.energy_kwh.sum(), rel=1e-6)


def test_coverage_counts_every_missing_hour(verification: Verification, meter, timezone) -> None:
    words = figures.coverage_map(meter, verification.study)
    missing = next(trace for trace in words.figure.data if str(trace.name).startswith("missing"))
    hours = pd.DatetimeIndex(meter.energy_kwh[meter.energy_kwh.isna()].index).tz_convert(timezone)
    assert len(missing.x) == hours.floor("h").nunique()
    assert words.table["hours missing"].sum() == len(missing.x)


def test_daily_total_of_all_meters_is_their_sum_or_empty(verification: Verification) -> None:
    words = figures.daily_energy(verification)
    wide = verification.daily.pivot(index="day", columns="meter", values="actual_kwh")  # noqa: PD010
    expected = wide.sum(axis=1, skipna=False)
    assert np.allclose(words.table["metered, kWh"], expected.round(2), equal_nan=True)


def test_a_day_that_is_not_in_the_record_breaks_the_daily_line(verification: Verification) -> None:
    daily = verification.daily
    kept = daily[(daily["day"] < "2024-01-01") | (daily["day"] >= "2024-03-01")]
    holed = Verification(verification.study, verification.result, verification.meters, kept, kept)
    words = figures.daily_energy(holed, "LP-1")
    lines = [trace for trace in words.figure.data if trace.mode == "lines"]
    assert len(lines) == 2
    for line in lines:
        inside = [y for x, y in zip(line.x, line.y, strict=True) if "2024-01-04" <= x < "2024-02-26"]
        assert len(inside) == 53
        assert np.isnan(np.asarray(inside, dtype=float)).all()


def test_months_are_drawn_as_they_stand_in_the_result(verification: Verification) -> None:
    words = figures.monthly_energy(verification.result)
    months = verification.result["savings"]["monthly"]
    metered = next(trace for trace in words.figure.data if trace.name == "metered")
    assert list(metered.y) == [row["actual_kwh"] for row in months]
    avoided = next(trace for trace in words.figure.data if str(trace.name).startswith("avoided"))
    assert np.allclose(avoided.error_y.array, 120.0)
    assert np.allclose(avoided.error_y.arrayminus, 120.0)


def test_the_running_total_ends_at_the_sum_of_the_months(verification: Verification) -> None:
    words = figures.running_total(verification)
    months = verification.result["savings"]["monthly"]
    total = sum(row["avoided_kwh"]["estimate"] for row in months)
    assert words.table["saved so far, kWh"].iloc[-1] == pytest.approx(total, abs=0.1)
    assert words.table["promised so far, kWh"].iloc[-1] == pytest.approx(60_000.0)


def test_the_promise_figure_shows_interval_and_promise(verification: Verification) -> None:
    words = figures.savings_against_promise(verification.result)
    verified = verification.result["savings"]["normalised_annual_kwh"]
    interval = words.figure.data[1]
    assert list(interval.x) == [verified["low"], verified["high"]]
    assert words.figure.layout.shapes[0].x0 == 60_000.0


def test_week_profile_is_the_mean_of_each_hour_of_the_week(verification: Verification, meter) -> None:
    table = week_table(meter, verification.study)
    local = pd.DatetimeIndex(meter.power_kw.index).tz_convert("America/Chicago")
    tuesday_ten = (local.day_of_week == 1) & (local.hour == 10) & (local.year == 2023)
    row = table.set_index("hour of week").loc["Tue 10:00"]
    assert row["before, kW"] == pytest.approx(meter.power_kw[tuesday_ten].mean(), abs=1e-3)


def test_a_holiday_counts_as_a_sunday(verification: Verification, meter) -> None:
    table = day_table(meter, verification.study).set_index(["kind of day", "hour"])
    assert table.loc[("Sunday and holidays", "12:00"), "before, kW"] > 1.6
    assert table.loc[("Saturday", "12:00"), "before, kW"] == pytest.approx(1.5, abs=0.05)


def test_residuals_are_metered_less_modelled(verification: Verification) -> None:
    words = figures.residuals(verification, "LP-1")
    table = words.table
    assert np.allclose(
        table["metered − modelled, kWh"], table["metered, kWh"] - table["modelled, kWh"], atol=0.011
    )
    assert set(table["period"]) == {"baseline", "reporting"}


@pytest.mark.parametrize("which", ["predicted_to_verified", "baseline_to_reporting"])
def test_the_stairs_of_a_bridge_meet_and_reach_the_total(verification: Verification, which: str) -> None:
    bars = figures.bridge(verification.result, which).figure.data[0]
    ends = np.asarray(bars.base) + np.asarray(bars.x)
    assert np.allclose(np.asarray(bars.base)[1:-1], ends[:-2])
    assert bars.base[-1] == 0.0
    assert bars.x[-1] == pytest.approx(ends[-2])
    verified = verification.result["savings"]["normalised_annual_kwh"]["estimate"]
    avoided = verification.result["savings"]["avoided_kwh"]["estimate"]
    assert bars.x[-1] == pytest.approx(verified if which == "predicted_to_verified" else avoided)


def test_parts_of_a_saving_get_no_start_and_the_untold_part_its_reason(verification: Verification) -> None:
    words = figures.bridge(verification.result, "baseline_to_reporting")
    steps = ["lamp and fixture change", "controls", "avoided", "standby"]
    assert words.table["step"].tolist() == steps
    assert np.isnan(words.table["kWh"].iloc[-1])
    assert words.table["why"].iloc[-1] == "was not told apart"
    assert "“standby”" in words.caption


def test_a_setting_is_drawn_against_what_was_agreed(verification: Verification) -> None:
    words = figures.setting_history(verification, "hall", "high_trim")
    seen, agreed = words.figure.data
    assert seen.y[0] == pytest.approx(79.0)
    assert list(agreed.y) == [80.0, 80.0]
    assert words.caption.startswith("Moved, since 2024-09-16")


def test_a_setting_that_cannot_be_told_gives_its_reason(
    invented: ModuleType, verification: Verification
) -> None:
    words = figures.setting_history(verification, invented.HOSTILE, "scheduled_off")
    assert words.figure is None
    assert words.caption == "the zone has no opening hours"


def test_daily_days_are_local_days(verification: Verification, meter, timezone) -> None:
    days = local_days(pd.DatetimeIndex(meter.energy_kwh.index), timezone)
    drawn = figures.daily_energy(verification, "LP-1").table["day"]
    assert drawn.iloc[0] == str(days[0].date()) == "2023-01-01"


def test_a_month_is_drawn_from_its_own_days(verification: Verification) -> None:
    words = figures.month_days(verification, "2024-10")
    daily = verification.daily
    october = daily[daily["day"].dt.strftime("%Y-%m") == "2024-10"].groupby("day")["actual_kwh"].sum()
    assert np.allclose(words.figure.data[0].y, october.round(1))
    assert words.table["day"].iloc[0] == "2024-10-01"


def test_the_site_map_of_a_month_is_the_sum_of_its_meters(verification: Verification, timezone) -> None:
    words = figures.site_map(verification, "2024-11")
    hours = words.figure.data[0]
    assert (hours.x[0], hours.x[-1], len(hours.x)) == ("2024-11-01", "2024-11-30", 30)
    parts = [by_day_and_hour(meter.power_kw, timezone, "mean") for meter in verification.meters.values()]
    expected = (parts[0] + parts[1]).loc["2024-11-03", 1]  # the hour that the clock shows twice
    assert hours.z[1][2] == pytest.approx(expected, rel=1e-5)


def test_meters_are_drawn_with_their_own_intervals(verification: Verification) -> None:
    words = figures.meter_savings(verification.result)
    marks = words.figure.data[0]
    assert np.allclose(marks.error_x.array, 1500.0)
    by_meter = verification.result["savings"]["by_meter"]
    assert list(marks.x) == sorted(
        (row["avoided_kwh"]["estimate"] for row in by_meter.values()), reverse=True
    )


def test_the_hour_that_the_clock_skips_is_no_hole_in_the_picture(verification: Verification, meter) -> None:
    for words in (
        figures.power_map(meter, verification.study),
        figures.coverage_map(meter, verification.study),
    ):
        map_ = words.figure.data[0]
        column = list(map_.x).index("2023-03-12")
        assert map_.z[2][column] == map_.z[1][column]
        assert np.isfinite(map_.z[2][column])
    grid = by_day_and_hour(meter.power_kw, verification.study.site.timezone, "mean")
    assert np.isnan(grid.loc["2023-03-12", 2])  # the record itself has no such hour
    column = list(map_.x).index("2023-05-10")
    assert map_.z[12][column] == 2  # a missing hour stays missing


@pytest.mark.parametrize(
    ("verified", "promised", "anchor"),
    [
        (50_000, 60_000, "right"),
        (60_000, 50_000, "left"),
        (20_000, 60_000, "center"),
        (2_000, 2_100, "right"),
    ],
)
def test_the_post_of_the_promise_does_not_cross_the_name_of_the_estimate(
    verified: float, promised: float, anchor: str
) -> None:
    result = {
        "savings": {"normalised_annual_kwh": {"estimate": verified, "low": verified, "high": verified}},
        "predicted": {"annual_kwh": promised},
    }
    words = figures.savings_against_promise(result)
    (name,) = [note for note in words.figure.layout.annotations if note.text == "best estimate"]
    assert name.xanchor == anchor


def test_the_numbers_under_the_steps_stand_level_and_few_for_a_narrow_screen(
    verification: Verification,
) -> None:
    axis = figures.bridge(verification.result, "predicted_to_verified").figure.layout.xaxis
    assert axis.tickangle == 0 and axis.nticks <= 4

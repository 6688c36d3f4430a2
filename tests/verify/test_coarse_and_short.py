"""Studies whose meters give bills or weeks, and studies that metered only part of a year."""

from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Ledger
from mv.base.series import Bill, MeterSeries
from mv.base.study_records import Span
from mv.verify import verify_study
from mv.verifying.billing import bills_of, bills_of_days, has_bills

HEAD = """format = 1
[site]
name = "An invented hall"
latitude = 44.5
longitude = -89.6
timezone = "America/Chicago"
[occupancy.hours]
mon-fri = "07:00-19:00"
[periods]
baseline = ["{0}", "{1}"]
reporting = ["2024-03-01", "2025-02-28"]
[[meter]]
id = "M"
files = ["m.csv"]
accuracy = 0.01
"""
PERIOD = ("2022-01-01", "2023-12-31")


def _days() -> pd.Series:
    """Daily kWh, invented: open days 300, closed 60, weeks that hang together; 45 % less from 2024 on."""
    days = pd.date_range("2022-01-01", "2025-02-28")
    noise = np.random.default_rng(5).normal(size=len(days))
    for t in range(1, len(noise)):
        noise[t] = 0.8 * noise[t - 1] + 0.6 * noise[t]
    winter = 1 + 0.05 * np.cos(2 * np.pi * days.day_of_year.to_numpy() / 365.25)
    use = np.where(days.day_of_week < 5, 300.0, 60.0) * winter * (1 + 0.04 * noise)
    return pd.Series(np.where(days >= "2024-01-01", 0.55, 1.0) * use, index=days)


def _bills(days: pd.Series, starts: pd.DatetimeIndex) -> str:
    rows = ["Start,End,kWh"]
    for first, after in pairwise(starts):
        kwh = days[first : after - pd.Timedelta(days=1)].sum()
        rows.append(f"{first:%Y-%m-%d},{after:%Y-%m-%d},{kwh:.3f}")
    return "\n".join(rows) + "\n"


def _verified(folder: Path, csv: str, *, extra: str = "", period: tuple[str, str] = PERIOD) -> dict[str, Any]:
    (folder / "study.toml").write_text(HEAD.format(*period) + extra, encoding="utf-8")
    (folder / "m.csv").write_text(csv, encoding="utf-8")
    return dict(verify_study(folder).result)


def _counterfactual(days: pd.Series) -> float:
    late = days["2024-03-01":]
    return float(late.sum() / 0.55 - late.sum())


def _daily_csv(days: pd.Series) -> str:
    return "day,kWh\n" + "".join(f"{day:%Y-%m-%d},{kwh:.4f}\n" for day, kwh in days.items())


@pytest.mark.parametrize(
    ("starts", "before", "after"),
    [
        (pd.date_range("2022-01-01", "2025-03-01", freq="MS"), 24, 12),
        # Billed on the 12th: bills across a period's edge take no part in the fit.
        (pd.date_range("2022-01-12", "2025-02-12", freq="MS") + pd.Timedelta(days=11), 22, 10),
        (pd.date_range("2022-01-03", "2025-02-24", freq="7D"), 103, 51),
    ],
    ids=["calendar months", "billed on the 12th", "weeks"],
)
def test_a_model_of_bills_counts_bills_not_days(
    tmp_path: Path, starts: pd.DatetimeIndex, before: int, after: int
) -> None:
    days = _days()
    result = _verified(tmp_path, _bills(days, starts))
    numbers = {model["period"]: model["n"] for model in result["models"]}
    assert numbers["baseline"] == pytest.approx(before, abs=1)
    assert numbers["reporting"] == pytest.approx(after, abs=1)
    avoided = result["savings"]["avoided_kwh"]
    assert avoided["low"] < _counterfactual(days) < avoided["high"]
    assert len(result["savings"]["monthly"]) == 12
    assert result["savings"]["normalised_annual_kwh"] is not None


def test_bills_know_less_than_the_days_they_sum(tmp_path: Path) -> None:
    days = _days()
    (tmp_path / "bills").mkdir()
    (tmp_path / "days").mkdir()
    starts = pd.date_range("2022-01-01", "2025-03-01", freq="MS")
    billed = _verified(tmp_path / "bills", _bills(days, starts))["savings"]["avoided_kwh"]
    daily = _verified(tmp_path / "days", _daily_csv(days))["savings"]["avoided_kwh"]
    assert billed["high"] - billed["low"] > 0.8 * (daily["high"] - daily["low"])
    assert billed["estimate"] == pytest.approx(daily["estimate"], rel=0.03)


def test_the_user_may_fix_the_resolution(tmp_path: Path) -> None:
    days = _days()
    for model, least, most in (("monthly", 24, 24), ("weekly", 102, 104), ("daily", 700, 730)):
        folder = tmp_path / model
        folder.mkdir()
        result = _verified(folder, _daily_csv(days), extra=f'model = "{model}"\n')
        assert least <= result["models"][0]["n"] <= most


def test_bills_asked_of_a_daily_meter_are_said_to_be_absent(tmp_path: Path) -> None:
    result = _verified(tmp_path, _daily_csv(_days()), extra='model = "bills"\n')
    assert result["savings"]["avoided_kwh"] is None
    assert any("0 bills" in entry["why"] for entry in result["cannot_say"])


def test_a_bill_of_an_event_set_aside_takes_no_part(tmp_path: Path) -> None:
    event = (
        '[[event]]\nfirst = "2022-06-10"\nlast = "2022-06-20"\ntreatment = "set aside"\nreason = "works"\n'
    )
    starts = pd.date_range("2022-01-01", "2025-03-01", freq="MS")
    result = _verified(tmp_path, _bills(_days(), starts), extra=event)
    assert result["models"][0]["n"] == 23


def _series(bills: list[tuple[str, str, float, bool]]) -> MeterSeries:
    zone = "America/Chicago"
    records = tuple(
        Bill(
            pd.Timestamp(a, tz=zone).tz_convert("UTC"), pd.Timestamp(b, tz=zone).tz_convert("UTC"), kwh, told
        )
        for a, b, kwh, told in bills
    )
    index = pd.date_range("2023-01-01 06:00", periods=120, freq="D", tz="UTC")
    energy = pd.Series(1.0, index=index)
    ledger = Ledger("M", 4, 4, {}, 0, None, None, None, None, {})
    return MeterSeries("M", 1440.0, energy, energy > 2, ledger, bills=records)


def test_an_estimated_bill_is_settled_by_the_reading_after_it() -> None:
    series = _series(
        [
            ("2023-01-01 10:00", "2023-02-01 10:00", 100.0, False),
            ("2023-02-01 10:00", "2023-03-01 10:00", 60.0, True),
            ("2023-03-01 10:00", "2023-04-01 10:00", 150.0, False),
            ("2023-04-01 10:00", "2023-05-01 10:00", 90.0, True),
        ]
    )
    table = bills_of(series, Span(first=date(2023, 1, 1), last=date(2023, 4, 30)), "America/Chicago")
    assert table["energy_kwh"].tolist() == [100.0, 210.0]
    assert [f"{day:%m-%d}" for day in table.index] == ["01-01", "02-01"]
    assert [f"{day:%m-%d}" for day in table["last_day"]] == ["01-31", "03-31"]


def test_one_long_reading_after_a_gap_makes_no_billed_meter() -> None:
    series = _series([("2023-01-01", "2023-01-05", 100.0, False)])
    span = Span(first=date(2023, 1, 1), last=date(2023, 4, 30))
    assert not has_bills(series, span, "America/Chicago")


def test_a_week_with_a_day_missing_is_no_week() -> None:
    days = pd.Series(1.0, index=pd.date_range("2023-01-02", periods=21))
    days.iloc[9] = np.nan
    assert bills_of_days(days, "weekly")["energy_kwh"].tolist() == [7.0, 7.0]


def test_a_short_baseline_says_how_much_is_extrapolated(tmp_path: Path) -> None:
    csv = _daily_csv(_days())
    (tmp_path / "short").mkdir()
    (tmp_path / "year").mkdir()
    short = _verified(tmp_path / "short", csv, period=("2023-10-01", "2023-12-31"))["savings"]
    year = _verified(tmp_path / "year", csv, period=("2023-01-01", "2023-12-31"))["savings"]
    assert year["by_meter"]["M"]["extrapolated_share"]["baseline_year"] == 0.0
    assert year["by_meter"]["M"]["extrapolation"] == []
    share = short["by_meter"]["M"]["extrapolated_share"]
    assert share["baseline_year"] == pytest.approx(0.75, abs=0.03)
    assert share["avoided"] == pytest.approx(0.75, abs=0.03)
    assert share["reporting_year"] == 0.0
    assert short["by_meter"]["M"]["extrapolation_half_width_kwh"] > 0
    assert len(short["by_meter"]["M"]["extrapolation"]) == 2
    one, other = (entry["normalised_annual_kwh"] for entry in (short, year))
    assert one["high"] - one["low"] > other["high"] - other["low"]


def test_candidates_for_events_are_listed_and_known_ones_marked(tmp_path: Path) -> None:
    days = _days()
    days["2023-05-01":"2023-06-15"] += 150
    event = (
        '[[event]]\nfirst = "2023-05-01"\nlast = "2023-06-15"\ntreatment = "note only"\nreason = "guests"\n'
    )
    for name, extra, known in (("unknown", "", False), ("known", event, True)):
        folder = tmp_path / name
        folder.mkdir()
        result = _verified(folder, _daily_csv(days), extra=extra)
        largest = result["event_candidates"][0]
        assert largest["meter"] == "M"
        assert largest["period"] == "baseline"
        assert abs(pd.Timestamp(largest["first"]) - pd.Timestamp("2023-05-01")) < pd.Timedelta(days=5)
        # The fit has taken a part of it for season: sized within a quarter, not better.
        assert largest["kwh"]["estimate"] == pytest.approx(46 * 150, rel=0.25)
        assert largest["known"] is known
        assert largest["lasting"] is False


def test_two_weeks_before_carried_to_a_year_are_called_a_projection(tmp_path: Path) -> None:
    short = _verified(tmp_path, _daily_csv(_days()), period=("2023-11-06", "2023-11-26"))
    share = short["savings"]["by_meter"]["M"]["extrapolated_share"]["baseline_year"]
    assert share > 0.8
    assert any("a projection from the days that were" in text for text in short["cautions"])
    whole = _verified(tmp_path, _daily_csv(_days()))
    assert not any("a projection" in text for text in whole["cautions"])

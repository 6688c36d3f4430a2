"""A whole study whose data cannot show a setting: the result says so, and why."""

import numpy as np
import pandas as pd
import pytest

from mv.verify import verify_study

FIXTURES, WATTS, TRIM, LOW, HOLD = 20, 50.0, 0.8, 0.2, 10
FIRST, CHANGED, END = "2024-01-01", "2024-02-12", "2024-04-15"

STUDY = """
format = 1
[study]
title = "An invented hall"
confidence = 0.90
[site]
name = "Hall"
latitude = 50.0
longitude = 0.0
timezone = "UTC"
[periods]
baseline = ["2024-01-01", "2024-02-11"]
reporting = ["2024-02-12", "2024-04-14"]
[[meter]]
id = "M"
files = ["m.csv"]
measures = "lighting"
quantity = "energy"
unit = "kWh"
zones = ["hall"]
[occupancy.hours]
mon-fri = "08:00-18:00"
[[zone]]
id = "hall"
meter = "M"
fixtures = 20
watts_before = 100.0
watts_after = 50.0
{motion}
[zone.commissioned]
high_trim = 0.8
low_level = 0.2
hold_minutes = 10
daylight_dimming = false
scheduled_off = true
standby_watts = 0.5
"""


def _motion(minutes: pd.DatetimeIndex) -> np.ndarray:
    """Visits of a few minutes, two an hour, on working days: True in minutes with motion."""
    rng = np.random.default_rng(11)
    hours = pd.date_range(FIRST, END, freq="30min", inclusive="left")
    hours = hours[(hours.day_of_week < 5) & (hours.hour >= 8) & (hours.hour < 18)]
    moving = np.zeros(len(minutes), dtype=bool)
    for begin in minutes.searchsorted(hours) + rng.integers(0, 25, len(hours)):
        moving[begin : begin + rng.integers(1, 8)] = True
    return moving


def _written(folder, minutes: int, *, logged: bool):
    """The study as files, metered every so many minutes."""
    grid = pd.date_range(FIRST, END, freq="1min", inclusive="left")
    moving = _motion(grid)
    since = np.arange(len(grid)) - np.maximum.accumulate(np.where(moving, np.arange(len(grid)), -9999))
    is_open = (grid.day_of_week < 5) & (grid.hour >= 8) & (grid.hour < 18)
    level = np.where(since <= HOLD, TRIM, np.where(is_open, LOW, 0.01))
    power_kw = np.where(grid < CHANGED, is_open * FIXTURES * 0.1, level * FIXTURES * WATTS / 1000.0)
    energy = pd.Series(power_kw / 60.0, index=grid).resample(f"{minutes}min").sum().rename("kWh")
    energy.rename_axis("timestamp").to_csv(folder / "m.csv", float_format="%.5f")
    if logged:
        changes = np.flatnonzero(np.diff(moving.astype(int), prepend=0))
        table = pd.DataFrame({"time": grid[changes], "motion": moving[changes].astype(int)})
        table.to_csv(folder / "motion.csv", index=False)
    text = STUDY.format(motion='motion = ["motion.csv"]' if logged else "")
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return verify_study(folder).result


@pytest.mark.parametrize(
    ("minutes", "logged", "reason"),
    [
        (60, True, "readings every 60 minutes are too coarse for a hold time"),
        (60, False, "a hold time needs a motion log"),
        (5, False, "a hold time needs a motion log"),
    ],
)
def test_a_hold_time_that_the_data_cannot_show_is_null_with_its_reason(tmp_path, minutes, logged, reason):
    result = _written(tmp_path, minutes, logged=logged)
    found = {row["setting"]: row for row in result["settings"]}["hold_minutes"]
    assert (found["verdict"], found["observed"], found["since"]) == ("cannot tell", None, None)
    assert reason in found["why"]
    assert any(reason in entry["why"] for entry in result["cannot_say"])


def test_hourly_readings_of_short_visits_are_not_taken_for_levels(tmp_path):
    found = {row["setting"]: row for row in _written(tmp_path, 60, logged=True)["settings"]}
    for setting in ("high_trim", "low_level", "daylight_dimming"):
        assert found[setting]["verdict"] == "cannot tell", found[setting]
        assert found[setting]["observed"] is None and found[setting]["why"]
    assert found["scheduled_off"]["verdict"] == "kept"
    assert found["standby_watts"]["observed"]["estimate"] == pytest.approx(0.5, abs=0.05)


def test_the_same_hall_at_five_minutes_with_its_log_shows_them_all(tmp_path):
    found = {row["setting"]: row for row in _written(tmp_path, 5, logged=True)["settings"]}
    assert found["hold_minutes"]["observed"]["estimate"] == pytest.approx(HOLD, abs=2.0)
    assert found["high_trim"]["observed"]["estimate"] == pytest.approx(TRIM, abs=0.03)
    assert found["low_level"]["observed"]["estimate"] == pytest.approx(LOW, abs=0.03)
    assert {row["verdict"] for row in found.values()} <= {"kept", "cannot tell"}

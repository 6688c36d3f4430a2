"""Meters read by the hour: an hourly model is tried, may be fixed, and its choice is told."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.verify import verify_study

HEAD = """format = 1
[site]
latitude = 55.9
longitude = -3.2
timezone = "Europe/London"
[occupancy]
holidays = ["2023-04-07"]
[occupancy.hours]
mon-fri = "07:00-19:00"
[periods]
baseline = ["2023-02-01", "2023-12-31"]
reporting = ["2024-01-01", "2024-12-31"]
[[meter]]
id = "M"
files = ["m.csv"]
"""


def _written(folder: Path, extra: str = "", interval: str = "1h") -> float:
    """Open hours 10 kW, 4 more while dark; a third saved. Returns the kWh truly avoided."""
    from mv.drivers import sun_elevation_deg

    stamps = pd.date_range("2023-02-01", "2025-01-01", freq="1h", tz="Europe/London", inclusive="left")
    wall = stamps.tz_localize(None)
    hour, draw = wall.hour.to_numpy(), np.random.default_rng(4)
    opened = (wall.day_of_week.to_numpy() < 5) & (hour >= 7) & (hour < 19)
    dark = sun_elevation_deg(stamps.tz_convert("UTC") + pd.Timedelta(minutes=30), 55.9, -3.2) < -0.833
    old = 1.0 + opened * (10.0 + 4.0 * dark)
    old = old * np.repeat(1 + 0.04 * draw.normal(size=len(old) // 24 + 2), 24)[: len(old)]
    late = (wall >= "2024-01-01") & (wall < "2025-01-01")
    used = pd.Series(np.where(wall >= "2024-01-01", old * 2 / 3, old), index=stamps)
    used = used if interval == "1h" else used.groupby(wall.normalize()).sum()
    rows = "".join(f"{stamp.isoformat()},{kwh:.4f}\n" for stamp, kwh in used.items())
    (folder / "m.csv").write_text("time,kWh\n" + rows, encoding="utf-8")
    (folder / "study.toml").write_text(HEAD + extra, encoding="utf-8")
    return float(old[late].sum() / 3)


def _models(result: dict[str, Any]) -> dict[str, Any]:
    return {model["period"]: model for model in result["models"]}


@pytest.mark.parametrize(("extra", "resolution"), [('model = "hourly"\n', "hourly"), ("", None)])
def test_an_hourly_model_is_tried_and_its_interval_holds_the_truth(
    tmp_path: Path, extra: str, resolution: str | None
) -> None:
    truth = _written(tmp_path, extra)
    result = dict(verify_study(tmp_path).result)
    avoided = result["savings"]["avoided_kwh"]
    assert avoided["low"] < truth < avoided["high"]
    model = _models(result)["baseline"]
    assert any("hourly" in row["form"] for row in model["alternatives"])
    assert model["resolution"] in ("hourly", "daily")
    if resolution:
        assert model["resolution"] == resolution
        assert "sum of the hourly model" in model["form"]
        assert result["savings"]["normalised_annual_kwh"] is not None
    else:
        assert "on days left out" in model["resolution_why"]


def test_an_hourly_model_cannot_be_had_from_days(tmp_path: Path) -> None:
    _written(tmp_path, 'model = "hourly"\n', interval="1D")
    result = dict(verify_study(tmp_path).result)
    assert result["savings"]["avoided_kwh"] is None
    assert any("hourly" in row["why"] for row in result["cannot_say"])


def test_a_part_of_a_year_is_not_judged_by_the_hour_unless_the_study_says_so(tmp_path: Path) -> None:
    _written(tmp_path)
    path = tmp_path / "study.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("2023-12-31", "2023-05-31"), encoding="utf-8")
    model = _models(dict(verify_study(tmp_path).result))["baseline"]
    assert model["resolution"] == "daily"
    assert not any("hourly" in row["form"] for row in model["alternatives"])
    assert "less than most of a year" in model["resolution_why"]


def test_days_say_why_no_hours_were_tried(tmp_path: Path) -> None:
    _written(tmp_path, interval="1D")
    model = _models(dict(verify_study(tmp_path).result))["baseline"]
    assert model["resolution"] == "daily"
    assert "longer than an hour" in model["resolution_why"]

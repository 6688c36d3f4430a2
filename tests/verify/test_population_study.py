"""A study whose loggers stand for places that were not logged."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.base.errors import StudyError
from mv.documents.summary import summary_text
from mv.study import load_study
from mv.verify import verify_study

HEAD = """format = 1
[site]
latitude = 44.5
longitude = -89.6
timezone = "America/Chicago"
[occupancy.hours]
mon-fri = "07:00-19:00"
[periods]
baseline = ["2023-01-01", "2023-06-30"]
reporting = ["2024-01-01", "2024-06-30"]
[predicted]
annual_kwh = 60000
"""
LOGGERS, PLACES = 8, 40


def _site(seed: int) -> tuple[pd.Series, np.ndarray]:
    """Connected kW of each place, and the share of the old use that each saves."""
    draw = np.random.default_rng(seed)
    return pd.Series(draw.uniform(0.5, 2.5, PLACES)), draw.normal(0.5, 0.08, PLACES)


def _written(folder: Path, seed: int, *, extra: str = "") -> float:
    """The study on disk; returns what all places truly avoided."""
    load, saved = _site(seed)
    draw = np.random.default_rng([seed, 1])
    days = pd.date_range("2023-01-01", "2024-06-30")
    opened = days.day_of_week.to_numpy() < 5
    hours = draw.uniform(0.7, 1.1, PLACES)
    text, truth = HEAD, 0.0
    late = days >= "2024-01-01"
    for place in range(PLACES):
        old = load[place] * hours[place] * np.where(opened, 13.0, 2.0)
        old = old * (1 + 0.05 * draw.normal(size=len(days)))
        truth += float((saved[place] * old)[late].sum())
        if place < LOGGERS:
            used = np.where(late, (1 - saved[place]) * old, old)
            rows = "".join(f"{day:%Y-%m-%d},{kwh:.4f}\n" for day, kwh in zip(days, used, strict=True))
            (folder / f"L{place}.csv").write_text("day,kWh\n" + rows, encoding="utf-8")
            text += f'[[meter]]\nid = "L{place}"\nfiles = ["L{place}.csv"]\nzones = ["z{place}"]\n'
            text += f'[[zone]]\nid = "z{place}"\nfixtures = 10\nwatts_before = {100 * load[place]:.6f}\n'
    meters = ", ".join(f'"L{place}"' for place in range(LOGGERS))
    text += f'[[population]]\nid = "rooms"\nmeters = [{meters}]\nplaces = {PLACES}\n'
    text += f"connected_kw = {load.sum():.4f}\n"
    (folder / "study.toml").write_text(text + extra, encoding="utf-8")
    return truth


@pytest.fixture(scope="module")
def carried(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], float]:
    folder = tmp_path_factory.mktemp("rooms")
    truth = _written(folder, 3)
    return dict(verify_study(folder).result), truth


def test_the_site_is_the_population_and_its_interval_holds_the_truth(
    carried: tuple[dict[str, Any], float],
) -> None:
    result, truth = carried
    avoided = result["savings"]["avoided_kwh"]
    assert avoided["low"] < truth < avoided["high"]
    (group,) = result["savings"]["population"]
    assert group["avoided_kwh"] == avoided
    assert group["loggers_used"] == LOGGERS and group["places"] == PLACES
    assert 0.02 < group["sampling_precision"] < 0.3
    logged = sum(row["avoided_kwh"]["estimate"] for row in result["savings"]["by_meter"].values())
    assert avoided["estimate"] == pytest.approx(logged * group["connected_kw"] / group["logged_kw"])
    half = (avoided["high"] - avoided["low"]) / 2
    assert half > group["model_half_width_kwh"]


def test_months_and_bridge_add_up_to_the_population(carried: tuple[dict[str, Any], float]) -> None:
    result, _ = carried
    avoided = result["savings"]["avoided_kwh"]["estimate"]
    months = result["savings"]["monthly"]
    assert sum(row["avoided_kwh"]["estimate"] for row in months) == pytest.approx(avoided)
    assert sum(row["expected_kwh"] - row["actual_kwh"] for row in months) == pytest.approx(avoided)
    steps = result["bridge"]["baseline_to_reporting"]
    told = {row["step"]: row["kwh"]["estimate"] for row in steps if row["kwh"]}
    assert sum(told.values()) == avoided
    assert told["lights not logged"] > 0


def test_the_summary_says_for_what_the_loggers_stand(
    carried: tuple[dict[str, Any], float], tmp_path: Path
) -> None:
    text = " ".join(summary_text(carried[0], tmp_path).split())
    assert "rooms: 8 loggers" in text
    assert "40 places" in text


def test_loggers_without_connected_load_are_refused(tmp_path: Path) -> None:
    _written(tmp_path, 3)
    path = tmp_path / "study.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('id = "z1"\nfixtures = 10', 'id = "z1"'), encoding="utf-8")
    with pytest.raises(StudyError, match="connected load of L1 is not known"):
        load_study(path)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("places = 40", "places = 5", "fewer than its 8 loggers"),
        ('meters = ["L0"', 'meters = ["L9"', "names meter 'L9', which is not there"),
        ('meters = ["L0"', 'meters = ["L1"', "counted twice"),
        ("places = 40", "places = 40\nlogged_kw = [1.0, 2.0]", "2 logged_kw for 8 loggers"),
        ("places = 40", "places = 40\nlogged_kw = [9, 9, 9, 9, 9, 9, 9, 9]", "more than the"),
    ],
)
def test_groups_that_cannot_be_are_refused(tmp_path: Path, old: str, new: str, told: str) -> None:
    _written(tmp_path, 3)
    path = tmp_path / "study.toml"
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    with pytest.raises(StudyError, match=told):
        load_study(path)

"""From an empty folder to a verified answer: dropping files, drafting, answering, reading, verifying."""

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

pytestmark = pytest.mark.browser
HOSTILE = "<img src=x onerror=alert(1)>"


def hall_csv(path: Path, first: str, days: int, level_kw: float, seed: int, *, spike: float = 0.0) -> Path:
    """Hourly readings of an invented hall: open on weekdays from 7 to 19, UTC and site clock alike."""
    index = pd.date_range(first, periods=24 * days, freq="h", tz="UTC")
    is_open = (index.day_of_week < 5) & (index.hour >= 7) & (index.hour < 19)
    power = level_kw * np.where(is_open, 1.0, 0.06)
    power = power * (1 + np.random.default_rng(seed).normal(0, 0.03, len(index)))
    week = (index >= index[0] + pd.Timedelta(days=20)) & (index < index[0] + pd.Timedelta(days=29))
    frame = pd.DataFrame(
        {"time": index.strftime("%Y-%m-%dT%H:%M:%SZ"), "kWh": (power + spike * week).round(3)}
    )
    frame.to_csv(path, index=False)
    return path


def drop(dashboard: Any, label: str, *files: Path) -> None:
    """Hands files to one of the places where they are dropped."""
    group = dashboard.page.get_by_role("group", name=label)
    group.locator("input[type=file]").set_input_files([str(file) for file in files])


def fill(dashboard: Any, label: str, value: str) -> None:
    """Types into the field of a label; several fields of one label: the first that is shown."""
    dashboard.page.get_by_label(label, exact=False).locator("visible=true").first.fill(value)


def look(dashboard: Any, axe: str) -> None:
    """What holds at every step: silent, within the window, accessible."""
    assert dashboard.said == []
    assert dashboard.overhang() <= 0
    assert dashboard.accessibility_findings(axe) == []


def test_the_whole_way_from_dropped_files_to_the_answer(
    open_dashboard: Callable[..., Any],
    served: Callable[[Any], str],
    tmp_path: Path,
    axe: str,
    width: str,
) -> None:
    from dashboards import create_app

    study, outside = tmp_path / "study", tmp_path / "outside"
    study.mkdir()
    outside.mkdir()
    before = hall_csv(outside / "hall_before.csv", "2024-01-08", 60, 8.0, 1)
    after = hall_csv(outside / "hall_after.csv", "2024-04-01", 60, 2.6, 2, spike=1.5)
    dashboard = open_dashboard(served(create_app(study)), width=width).open("/")
    page = dashboard.page
    assert dashboard.heading().inner_text() == "Set up the study"

    drop(dashboard, "Meter readings from before the retrofit", before)
    page.get_by_text("hall_before.csv is kept as meters/hall_before.csv.").wait_for()
    drop(dashboard, "Meter readings from after it", after)
    page.get_by_text("hall_after.csv is kept as meters/hall_after.csv.").wait_for()
    assert (study / "meters" / "hall_after.csv").read_bytes() == after.read_bytes()
    side = page.get_by_role("group", name="meters/hall_before.csv").get_by_role("radio", name="before")
    assert side.is_checked()
    look(dashboard, axe)

    page.get_by_role("button", name="Read them and draft the study").click()
    page.get_by_role("heading", name="2. What the study says").wait_for()
    assert "[site], latitude: is missing" in dashboard.text()
    page.get_by_text("Meter hall", exact=True).click()
    page.get_by_role("listitem").get_by_text("before: hall_before.csv, 1440 readings").wait_for()

    fill(dashboard, "Name of the site", "Invented hall")
    fill(dashboard, "Latitude", "52.0")
    fill(dashboard, "Longitude", "1.0")
    fill(dashboard, "Time zone", "Somewhere/Else")
    fill(dashboard, "Saving promised", "14000")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("alert").get_by_text("is not an IANA time zone").wait_for()
    fill(dashboard, "Time zone", "UTC")
    page.get_by_text("Another zone").click()
    fill(dashboard, "Name of the zone", HOSTILE)
    fill(dashboard, "Fixtures", "40")
    fill(dashboard, "Agreed: full-on level", "0.8")
    look(dashboard, axe)
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("Saved.").wait_for()
    table = tomllib.loads((study / "study.toml").read_text(encoding="utf-8"))
    assert table["site"] == {"name": "Invented hall", "latitude": 52.0, "longitude": 1.0, "timezone": "UTC"}
    assert table["zone"][0]["commissioned"] == {"high_trim": 0.8}
    assert "# degrees, north positive" in (study / "study.toml").read_text(encoding="utf-8")

    page.get_by_role("button", name="Read the files").click()
    row = page.get_by_role("row").filter(has=page.get_by_role("rowheader", name="hall"))
    row.wait_for()
    cells = [cell.replace(",", "") for cell in row.get_by_role("cell").all_inner_texts()]
    assert cells[:3] == ["2880", "2880", "0"]
    look(dashboard, axe)

    page.get_by_role("button", name="Verify now").click()
    page.get_by_role("heading", name="Did it save what was promised?").wait_for(timeout=60_000)
    result = json.loads((study / "results" / "result.json").read_text(encoding="utf-8"))
    assert result["savings"]["avoided_kwh"]["estimate"] > 0
    assert page.locator("img").count() == 0
    dashboard.settled()
    look(dashboard, axe)

    dashboard.go_to("Method")
    page.get_by_text("Add an event", exact=True).click()
    form = page.locator("details[open]").filter(has=page.get_by_role("button", name="Add this event"))
    form.get_by_label("First day").fill("2024-04-21")
    form.get_by_label("Last day").fill("2024-04-29")
    form.get_by_label("Reason and its evidence").fill(f"works {HOSTILE}")
    form.get_by_role("button", name="Add this event").click()
    page.get_by_text("Written to the study file.").wait_for()
    event = tomllib.loads((study / "study.toml").read_text(encoding="utf-8"))["event"][0]
    assert (event["first"], event["treatment"]) == ("2024-04-21", "set aside")
    look(dashboard, axe)

"""A clock that the readings contradict leads the cautions, and what hangs on it is not told."""

from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import Estimate
from mv.base.ledger import Remark
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.verify import verify_study
from mv.verifying.clock_doubts import told_in_doubt

STUDY = """format = 1
[site]
name = "Invented hall"
latitude = 52.5
longitude = {longitude}
timezone = "Europe/Berlin"
[periods]
baseline = ["2023-01-01", "2023-04-30"]
reporting = ["2024-01-01", "2024-04-30"]
[[meter]]
id = "hall"
files = ["hall.csv"]
quantity = "energy"
unit = "kWh"
clock = "site"
zones = ["hall"]
[occupancy.hours]
mon-fri = "{hours}"
[[zone]]
id = "hall"
fixtures = 100
watts_before = 100
watts_after = 50
[zone.commissioned]
high_trim = 1.0
scheduled_off = true
"""


def meter(folder: Path) -> None:
    """Lamps on from 07:30 to 18:30 on weekdays, by the site's clock: 10 kW before, 5 kW after."""
    parts = []
    for year, power_kw in ((2023, 10.0), (2024, 5.0)):
        stamps = pd.date_range(f"{year}-01-01", f"{year}-05-01", freq="15min", inclusive="left")
        hour = stamps.hour + stamps.minute / 60.0
        lit = (stamps.day_of_week < 5) & (hour >= 7.5) & (hour < 18.5)
        noise = 1.0 + 0.004 * np.random.default_rng(year).standard_normal(len(stamps))
        parts.append(pd.DataFrame({"timestamp": stamps, "kWh": np.where(lit, power_kw * noise / 4, 0.01)}))
    table = pd.concat(parts)
    skipped = [f"{day} 02" for day in ("2023-03-26", "2024-03-31")]
    kept = ~table["timestamp"].astype(str).str[:13].isin(skipped)
    table["kWh"] = table["kWh"].round(4)
    table[kept].to_csv(folder / "hall.csv", index=False)


def result(folder: Path, *, hours: str = "07:30-18:30", longitude: float = 13.4) -> dict[str, Any]:
    (folder / "study.toml").write_text(STUDY.format(hours=hours, longitude=longitude))
    return dict(verify_study(folder).result)


def verdicts(found: dict[str, Any]) -> dict[str, str]:
    return {row["setting"]: row["verdict"] for row in found["settings"]}


def test_hours_that_the_load_contradicts_lead_the_cautions_and_leave_the_schedule_untold(
    tmp_path: Path,
) -> None:
    meter(tmp_path)
    right = result(tmp_path)
    assert not any("clock is in doubt" in text for text in right["cautions"])
    assert verdicts(right)["scheduled_off"] == "kept"
    wrong = [result(tmp_path, hours="09:30-20:30"), result(tmp_path, longitude=-80.0)]
    for found in wrong:
        assert found["cautions"][0].startswith("The clock is in doubt for hall:")
        assert "timezone" in found["cautions"][0]
        assert verdicts(found)["scheduled_off"] == "cannot tell"
        assert "the clock is in doubt" in next(
            row["why"] for row in found["settings"] if row["setting"] == "scheduled_off"
        )
        assert verdicts(found)["high_trim"] == verdicts(right)["high_trim"]


@pytest.mark.parametrize(("lasting", "verdict"), [(True, "cannot tell"), (False, "moved")])
def test_a_level_in_opening_hours_that_seems_moved_is_untold_while_a_lasting_doubt_stands(
    lasting: bool, verdict: str
) -> None:
    """A schedule that itself moved by an hour after hand-over is not the meter's clock."""
    now = Estimate(0.0, 0.0, 0.02, 0.9)
    moved = SettingFinding("hall", "low_level", 0.2, now, "moved", date(2024, 3, 1), "the level fell")
    trim = SettingFinding("hall", "high_trim", 0.8, Estimate(1.0, 0.98, 1.0, 0.9), "moved", None, "it rose")
    doubt = Remark("clock-against-hours", "the clock may be 60 min behind", lasting=lasting)
    told = told_in_doubt(ZoneSettings("hall", (moved, trim), pd.DataFrame()), [doubt]).findings
    assert [found.verdict for found in told] == [verdict, "moved"]
    assert (told[0].since is None) == lasting

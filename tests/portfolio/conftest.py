"""Small invented studies, daily readings, that verify in about a second each."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

TEXT = """format = 1
[study]
title = "{title}"
[site]
name = "Invented {title}"
latitude = 44.5
longitude = -89.6
timezone = "America/Chicago"
[occupancy.hours]
mon-fri = "07:00-19:00"
[periods]
baseline = ["2022-01-01", "2022-12-31"]
reporting = ["2023-02-01", "2024-01-31"]
[predicted]
annual_kwh = {predicted}
[tariff]
energy_per_kwh = 0.2
[claim]
programme = "{programme}"
[claim.contractor]
name = "{contractor}"
[[meter]]
id = "M"
files = ["m.csv"]
accuracy = 0.01
accuracy_source = "invented certificate"
zones = ["hall"]
[[zone]]
id = "hall"
place = "indoor"
[zone.commissioned]
hold_minutes = 10
"""


def write_small(
    folder: Path,
    *,
    seed: int,
    left: float = 0.5,
    predicted: float = 40_000.0,
    programme: str = "north",
    contractor: str = "first",
) -> Path:
    """A study of one daily meter; after the works `left` of the former use is left."""
    folder.mkdir(parents=True)
    days = pd.date_range("2022-01-01", "2024-01-31")
    use = np.where(days.day_of_week < 5, 300.0, 60.0) * (
        1 + 0.04 * np.random.default_rng(seed).normal(size=len(days))
    )
    kwh = np.where(days >= "2023-01-15", left, 1.0) * use
    rows = "".join(f"{day:%Y-%m-%d},{value:.2f}\n" for day, value in zip(days, kwh, strict=True))
    (folder / "m.csv").write_text("date,kWh\n" + rows, encoding="utf-8")
    text = TEXT.format(title=folder.name, predicted=predicted, programme=programme, contractor=contractor)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def small_study() -> Callable[..., Path]:
    """`small_study(folder, seed=1, left=0.5, predicted=40_000)` writes one."""
    return write_small


@pytest.fixture(scope="session")
def four_studies(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two good ones, one that saved nothing, one that is broken."""
    root = tmp_path_factory.mktemp("studies")
    write_small(root / "alder", seed=1)
    write_small(root / "deeper" / "birch", seed=2, programme="south", contractor="second", predicted=30_000)
    write_small(root / "cedar", seed=3, left=1.0)
    write_small(root / "dogwood", seed=4)
    (root / "dogwood" / "m.csv").unlink()
    return root

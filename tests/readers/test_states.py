"""Logs of on and off in words, numbers, two columns and shares of time become the energy of their load."""

from pathlib import Path

import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Site, Study
from mv.cleaning import clean_meter
from mv.readers import read_meter

ZONE = "America/Chicago"
CHANGES = ("2024-02-15 07:00", "2024-02-15 19:00", "2024-02-16 07:00", "2024-02-16 19:00", "2024-02-17 07:00")
LOAD = {"unit": "kW", "multiplier": 2.0}  # 2 kW are switched, as the study states
LIT_HOURS = 24.0  # from 7 to 19 on two days


@pytest.fixture
def read(tmp_path: Path):
    def run(text: str, **keys: object) -> MeterSeries:
        (tmp_path / "a.csv").write_text(text, encoding="utf-8")
        meter = Meter.model_validate({"id": "m", "files": ["a.csv"], **LOAD, **keys})
        study = Study(format=1, site=Site(latitude=41.9, longitude=-87.6, timezone=ZONE), meter=(meter,))
        return clean_meter(read_meter(meter, tmp_path, ZONE), meter, study)

    return run


def log(heading: str, on: str, off: str) -> str:
    return f"Date Time,{heading}\n" + "".join(
        f"{change},{off if number % 2 else on}\n" for number, change in enumerate(CHANGES)
    )


@pytest.mark.parametrize(
    ("heading", "on", "off"),
    [
        ("Light State", "On", "Off"),
        ("Light State", "Light On", "Light Off"),
        ("Light State", "LIGHTS ON", "LIGHTS OFF"),
        ("value", "TRUE", "FALSE"),
        ("Zone", "Occupied", "Vacant"),
        ("Schalter", "EIN", "AUS"),
        ("Etat", "Marche", "Arrêt"),
        ("Lighting relay", "Closed", "Open"),
        ("Light On", "1", "0"),
        ("State", "1", "0"),
    ],
)
def test_words_and_numbers_of_state_need_no_quantity(read, heading, on, off):
    series = read(log(heading, on, off))
    assert series.ledger.inferred["quantity"].startswith("on-off")
    assert series.energy_kwh.sum() == pytest.approx(LIT_HOURS * 2.0)


def test_open_without_a_relay_is_taken_as_on_and_said(read):
    series = read(log("Point", "open", "closed"))
    assert series.energy_kwh.sum() == pytest.approx(LIT_HOURS * 2.0)
    assert "open-taken-as-on" in {remark.code for remark in series.ledger.remarks}


def test_two_columns_of_events_are_one_state(read):
    rows = "".join(
        f"{change},{'' if n % 2 else 1},{1 if n % 2 else ''}\n" for n, change in enumerate(CHANGES)
    )
    series = read("time,Light On,Light Off\n" + rows)
    assert series.energy_kwh.sum() == pytest.approx(LIT_HOURS * 2.0)


@pytest.mark.parametrize(
    ("heading", "share", "keys"),
    [
        ("Light On (%)", 75, {}),
        ("% time on", 75, {}),
        ("light on fraction", 0.75, {"quantity": "on-off"}),
    ],
)
def test_a_share_of_time_on_is_that_share_of_the_load(read, heading, share, keys):
    rows = "".join(f"2024-02-{day} {hour:02d}:00,{share if 7 <= hour < 19 else 0}\n"
                   for day in (15, 16) for hour in range(24))  # fmt: skip
    series = read(f"time,{heading}\n{rows}", **keys)
    assert series.interval_minutes == 60
    assert series.energy_kwh.sum() == pytest.approx(LIT_HOURS * 0.75 * 2.0)


def test_numbers_that_are_neither_state_nor_share_are_refused(read):
    rows = "".join(f"2024-02-15 {hour:02d}:00,{hour * 20}\n" for hour in range(24))
    with pytest.raises(ReadingError, match="neither on and off nor a share"):
        read(f"time,light\n{rows}", quantity="on-off")

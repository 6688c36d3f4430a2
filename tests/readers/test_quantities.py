"""What the numbers are: registers that begin again, units that are none, and dates of two orders."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Site, Study
from mv.cleaning import clean_meter
from mv.readers import read_meter

ZONE = "America/Chicago"
FIRST = dt.datetime(2024, 2, 5)


@pytest.fixture
def read(tmp_path: Path):
    def run(
        heading: str, values: np.ndarray, *, stamps: list[str] | None = None, **keys: object
    ) -> MeterSeries:
        stamps = stamps or [
            f"{FIRST + dt.timedelta(minutes=15 * n):%Y-%m-%d %H:%M}" for n in range(len(values))
        ]
        rows = [f"{stamp},{value:.3f}" for stamp, value in zip(stamps, values, strict=True)]
        (tmp_path / "a.csv").write_text("\n".join([f"time,{heading}", *rows]) + "\n")
        meter = Meter.model_validate({"id": "m", "files": ["a.csv"], **keys})
        study = Study(format=1, site=Site(latitude=41.9, longitude=-87.6, timezone=ZONE), meter=(meter,))
        return clean_meter(read_meter(meter, tmp_path, ZONE), meter, study)

    return run


def energy(count: int) -> np.ndarray:
    """A load on from 7 to 19, with a meter's noise."""
    hour = np.arange(count) % 96 / 4
    noise = 1 + 0.05 * np.random.default_rng(7).standard_normal(count)
    return np.where((hour >= 7) & (hour < 19), 2.0, 0.25) * noise


@pytest.mark.parametrize("resets", [[900], [500, 1100], [400, 500, 900]])
def test_a_register_headed_kwh_that_begins_again_is_still_a_register(read, resets):
    kwh = energy(1344)
    total = 500.0 + np.cumsum(kwh)
    parts = np.split(np.arange(1344), resets)
    for part in parts[1:]:
        total[part] = np.cumsum(kwh[part]) - kwh[part[0]]
    series = read("kWh", total)
    assert "register" in series.ledger.inferred["quantity"]
    counted = kwh.sum() - kwh[0] - kwh[resets].sum()
    assert series.energy_kwh.sum() == pytest.approx(counted, rel=0.01)


@pytest.mark.parametrize(
    "kwh",
    [
        energy(1344),
        np.round(energy(1344)),
        np.tile(np.repeat([0.0, 0.0, 1.0, 2.0, 3.0, 4.0, 3.0, 1.0], 12), 14),
        np.repeat([1.0, 3.0, 1.0, 3.0], 336),
        np.tile(np.concatenate([np.arange(48), np.arange(48)[::-1]]) / 100, 14),
    ],
)
def test_energy_per_interval_is_no_register_however_smooth(read, kwh):
    assert read("kWh", kwh).ledger.inferred["quantity"].startswith("energy")


@pytest.mark.parametrize("heading", ["kW/h", "Lighting (kW/h)", "kW per hour", "W/h"])
def test_power_by_time_is_refused(read, heading):
    with pytest.raises(ReadingError, match="neither energy nor power") as caught:
        read(heading, energy(200))
    assert "unit" in str(caught.value.remedy)


def test_power_by_time_is_read_as_the_study_says(read):
    assert read("kW/h", energy(200), unit="kWh").ledger.energy_used_kwh == pytest.approx(
        energy(200).sum(), abs=0.1
    )


@pytest.mark.parametrize("heading", ["kWh/h", "kWh per 15 min", "kW"])
def test_energy_by_interval_and_power_stay_readable(read, heading):
    assert read(heading, energy(200)).ledger.rows_used == 200


@pytest.mark.parametrize("heading", ["Max Demand kW", "Peak kW", "kW maximum"])
def test_the_highest_power_of_each_interval_is_refused_unless_stated(read, heading):
    with pytest.raises(ReadingError, match="highest power"):
        read(heading, energy(200))
    assert read(heading, energy(200), quantity="power").ledger.rows_used == 200


def dated(orders: list[tuple[int, str]], *, first: dt.date = dt.date(2024, 2, 5)) -> list[str]:
    """Hourly stamps of days written each in its format: (days, format) in turn."""
    formats = [form for days, form in orders for _ in range(days)]
    days = [first + dt.timedelta(days=n) for n in range(len(formats))]
    return [
        f"{day:{form}} {hour:02d}:00" for day, form in zip(days, formats, strict=True) for hour in range(24)
    ]


@pytest.mark.parametrize("orders", [[(7, "%m/%d/%Y"), (14, "%d/%m/%Y")], [(7, "%d/%m/%Y"), (14, "%m/%d/%Y")]])
@pytest.mark.parametrize("backwards", [False, True])
def test_rows_of_two_date_orders_in_one_column_are_refused(read, orders, backwards):
    stamps = dated(orders)
    stamps = stamps[::-1] if backwards else stamps
    with pytest.raises(ReadingError, match="leap by months"):
        read("kWh", energy(len(stamps)), stamps=stamps)


@pytest.mark.parametrize("form", ["%m/%d/%Y", "%d/%m/%Y"])
def test_one_date_order_with_a_gap_of_months_is_read(read, form):
    stamps = dated([(30, form)]) + dated([(30, form)], first=dt.date(2024, 9, 3))
    assert read("kWh", energy(len(stamps)), stamps=stamps, clock="site").ledger.rows_used == 60 * 24


@pytest.mark.parametrize(
    ("first", "keys", "said"),
    [
        (dt.date(2024, 2, 5), {}, True),
        (dt.date(2024, 2, 5), {"clock": "site"}, False),
        (dt.date(2024, 2, 5), {"clock": "UTC"}, False),
        (dt.date(2024, 10, 28), {}, False),  # lives through the change of 3 November
    ],
)
def test_a_clock_that_nothing_proves_is_said_to_be_unproven(read, first, keys, said):
    stamps = dated([(21, "%Y-%m-%d")], first=first)
    if first.month == 10:
        change = stamps.index("2024-11-03 01:00")
        stamps = [*stamps[: change + 1], *stamps[change:]]
    ledger = read("kWh", energy(len(stamps)), stamps=stamps, stamp="start", **keys).ledger
    found = {remark.code: remark for remark in ledger.remarks}
    assert ("clock-unproven" in found) is said
    if said:
        assert "clock" in str(found["clock-unproven"].remedy)
        assert ledger.inferred["clock"].startswith("site")


def test_a_register_is_not_asked_whether_its_stamps_begin_or_end_an_interval(read):
    ledger = read("kWh", 500 + np.cumsum(energy(1344))).ledger
    assert "stamp-unproven" not in {remark.code for remark in ledger.remarks}


@pytest.mark.parametrize("days", [1, 2])
@pytest.mark.parametrize("heading", ["kWh", "energy today (kWh)"])
def test_a_register_that_begins_again_every_day_or_two_is_a_register(read, days, heading):
    kwh = energy(96 * 14)
    teeth = np.concatenate([np.cumsum(part) for part in np.split(kwh, 14 // days)])
    series = read(heading, np.round(teeth, 3))
    assert series.ledger.inferred["quantity"].startswith("register")
    assert series.energy_kwh.sum() == pytest.approx(kwh[1:].sum(), rel=1e-3)


def test_readings_that_may_be_a_daily_register_or_energy_are_asked_about(read):
    steps = np.tile(np.repeat([0.0, 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0], 12), 14)
    with pytest.raises(ReadingError, match="begin again at zero every 24 hours"):
        read("kWh", steps)

"""A file whose interval changes part-way: each reading keeps its own length and the total is the file's."""

import datetime as dt
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Site, Study
from mv.cleaning import clean_meter
from mv.readers import read_meter

ZONE = "America/Chicago"
POWER_KW = 8.0


def cleaned(text: str, **keys: object) -> MeterSeries:
    meter = Meter.model_validate({"id": "m", "files": ["a.csv"], **keys})
    study = Study(format=1, site=Site(latitude=41.9, longitude=-87.6, timezone=ZONE), meter=(meter,))
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "a.csv").write_text(text)
        return clean_meter(read_meter(meter, Path(folder), ZONE), meter, study)


def spans_text(spans: list[tuple[int, int]], *, side: str = "start", heading: str = "kWh") -> str:
    """Readings of 8 kW, one per cent above and below in turn, in spans of (minutes, even readings)."""
    moment, rows = dt.datetime(2024, 1, 10), [f"time,{heading}"]
    for minutes, count in spans:
        for number in range(count):
            power = POWER_KW * (1.01 if number % 2 else 0.99)
            after = moment + dt.timedelta(minutes=minutes)
            value = power if heading == "kW" else power * minutes / 60
            rows.append(f"{after if side == 'end' else moment:%Y-%m-%d %H:%M},{value:.6f}")
            moment = after
    return "\n".join(rows) + "\n"


@given(
    spans=st.lists(
        st.tuples(st.sampled_from([5, 15, 30, 60]), st.integers(12, 45).map(lambda half: 2 * half)),
        min_size=2,
        max_size=4,
    ),
    side=st.sampled_from(["start", "end"]),
    heading=st.sampled_from(["kWh", "kW"]),
)
@settings(max_examples=25, deadline=None, derandomize=True)
def test_however_a_file_changes_its_interval_the_load_stays_level(spans, side, heading):
    hours = sum(minutes * count for minutes, count in spans) / 60
    series = cleaned(spans_text(spans, side=side, heading=heading), stamp=side)
    power = series.energy_kwh.to_numpy() * 60 / series.interval_minutes
    np.testing.assert_allclose(power, POWER_KW, rtol=0.0101)
    assert series.energy_kwh.sum() == pytest.approx(POWER_KW * hours, rel=1e-5)
    assert series.ledger.energy_used_kwh == pytest.approx(POWER_KW * hours, rel=1e-5)
    assert not series.ledger.set_aside
    assert series.ledger.filled_intervals == 0
    assert len(series.ledger.files) == 1
    assert series.ledger.files[0].rows_read == sum(count for _, count in spans)


@pytest.mark.parametrize(("fine", "coarse"), [(400, 572), (1000, 422), (1600, 272), (2400, 72)])
def test_quarter_hours_that_turn_into_hours_are_neither_stretched_nor_set_aside(fine, coarse):
    series = cleaned(spans_text([(15, fine), (60, coarse)]), stamp="start", clock="site")
    assert series.energy_kwh.sum() == pytest.approx(POWER_KW * (fine / 4 + coarse))
    assert series.interval_minutes == 15
    assert [span.interval_minutes for span in series.native_spans] == [15, 60]
    assert "interval-changes" in {remark.code for remark in series.ledger.remarks}
    assert not series.ledger.set_aside


def test_rows_missing_about_the_change_stay_a_gap():
    lines = spans_text([(15, 200), (60, 100)]).splitlines()
    del lines[190:221]  # ten quarter hours before the change, and 21 hours after it
    series = cleaned("\n".join(lines), stamp="start")
    assert series.energy_kwh.sum() == pytest.approx(POWER_KW * (189 / 4 + 80), rel=1e-3)
    assert int(series.energy_kwh.isna().sum()) == 11 + 20 * 4


def test_an_interval_the_study_states_is_kept_through_missing_rows():
    series = cleaned(spans_text([(15, 200), (60, 40)]), stamp="start", interval_minutes=15)
    assert "interval-changes" not in {remark.code for remark in series.ledger.remarks}
    assert series.ledger.energy_used_kwh == pytest.approx(POWER_KW * (50 + 40))


def test_scattered_missing_rows_are_no_change_of_interval():
    lines = spans_text([(15, 2000)]).splitlines()
    keep = np.random.default_rng(3).random(2000) < 0.6
    kept = [lines[0], *(line for line, there in zip(lines[1:], keep, strict=True) if there)]
    series = cleaned("\n".join(kept), stamp="start")
    assert "interval-changes" not in {remark.code for remark in series.ledger.remarks}
    assert series.ledger.energy_used_kwh == pytest.approx(2.0 * keep.sum(), rel=1e-3)


def test_a_weekend_alone_has_no_usual_working_day() -> None:
    hours = [f"13/01/2024 {hour:02d}:00,{hour}" for hour in range(1, 24)]
    odd = [f"14/01/2024 {hour:02d}:{minute:02d},1" for hour in (2, 3) for minute in (0, 20, 40)]
    later = [f"14/01/2024 {hour:02d}:00,{hour}" for hour in range(4, 24)]
    series = cleaned("\n".join(["time,kWh", *hours, *odd, *later]) + "\n")
    assert series.ledger.rows_read == len(hours) + len(odd) + len(later)

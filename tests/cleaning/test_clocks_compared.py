"""One meter's clock against the others of the study: said in its ledger, and nothing shifted."""

import numpy as np
import pandas as pd
import pytest

from mv.base.meter_records import Meter
from mv.base.raw import RawMeter
from mv.base.study_records import Site, Study
from mv.cleaning import clean_meter, with_clocks_compared

CHICAGO = "America/Chicago"


def site(meters: int, **more: object) -> Study:
    return Study(
        format=1,
        site=Site(latitude=41.9, longitude=-87.6, timezone=CHICAGO),
        meter=tuple(Meter(id=f"LP-{n}", files=("a.csv",)) for n in range(1, meters + 1)),
        **more,
    )


@pytest.fixture
def compared(raw, quarter_hours):
    """compared(hours on and off by meter, minutes late by meter) -> meters with their remarks."""

    def run(timetables: list[tuple[float, float]], late: list[int], **more: object):
        study = site(len(timetables), **more)
        stamps = quarter_hours(60)
        meters = {}
        for number, ((begin, end), minutes) in enumerate(zip(timetables, late, strict=True), 1):
            local = stamps.tz_convert(CHICAGO) - pd.Timedelta(minutes=minutes)
            hour = local.hour + local.minute / 60
            jitter = np.random.default_rng(number).normal(0, 0.1, 70)[np.asarray(local.day_of_year) - 5]
            on = (hour >= begin + jitter) & (hour < end + jitter) & (local.day_of_week < 5)
            kwh = np.where(on, 2.0, 0.1)
            meter = study.meter[number - 1]
            meters[meter.id] = clean_meter(RawMeter(meter.id, (raw(stamps, kwh),)), meter, study)
        return with_clocks_compared(meters, study)

    return run


def said(meters) -> dict[str, str]:
    return {
        name: remark.what
        for name, series in meters.items()
        for remark in series.ledger.remarks
        if remark.code == "clock-against-meters"
    }


def test_meters_of_one_timetable_raise_no_remark(compared):
    assert said(compared([(7, 19)] * 4, [0, 0, 0, 0])) == {}


@pytest.mark.parametrize(
    ("minutes", "words"), [(60, "60 min late"), (-60, "60 min early"), (120, "120 min late")]
)
def test_one_clock_off_against_two_others_is_named_alone(compared, minutes, words):
    found = said(compared([(7, 19)] * 3, [0, minutes, 0]))
    assert set(found) == {"LP-2"}
    assert words in found["LP-2"]
    assert "LP-1, LP-3" in found["LP-2"]


def test_of_two_meters_an_hour_apart_both_are_named(compared):
    assert set(said(compared([(7, 19)] * 2, [0, 60]))) == {"LP-1", "LP-2"}


def test_longer_hours_at_one_end_are_no_wrong_clock(compared):
    assert said(compared([(7, 19), (7, 19), (6, 19), (7, 22)], [0, 0, 0, 0])) == {}


def test_zones_with_hours_of_their_own_are_not_held_to_others(compared):
    hours = {"mon-fri": "07:00-19:00"}, {"mon-fri": "06:00-18:00"}
    zones = [
        {"id": f"z{n}", "meter": f"LP-{n}", "hours": hours[n == 2]} for n in (1, 2, 3)
    ]  # fmt: skip
    assert said(compared([(7, 19), (6, 18), (7, 19)], [0, 0, 0], zone=zones)) == {}


def test_a_remark_changes_no_energy(compared):
    plain, off = compared([(7, 19)] * 3, [0, 0, 0]), compared([(7, 19)] * 3, [0, 60, 0])
    assert off["LP-1"].energy_kwh.equals(plain["LP-1"].energy_kwh)

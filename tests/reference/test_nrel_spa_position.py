"""Sun position against the worked example of NREL's algorithm, and its rise and set times.

Source: Reda & Andreas 2004, Solar Position Algorithm, NREL/TP-560-34302, appendix A.5; rise and set
times printed in pvlib's tests for the same algorithm and in the US Naval Observatory's tables.
"""

from datetime import date

import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.drivers import daily_drivers, sun_elevation_deg


def test_elevation_of_the_published_example() -> None:
    """Appendix A.5: zenith 50.11162 with refraction; 39.872046 is its unrefracted elevation."""
    instant = pd.DatetimeIndex(["2003-10-17 12:30:30-07:00"]).tz_convert("UTC")
    assert sun_elevation_deg(instant, 39.742476, -105.1786)[0] == pytest.approx(39.872046, abs=0.02)


# latitude, longitude, zone, date, day length in hours (set less rise, as published)
DAYS = [
    (-35.0, 0.0, "UTC", date(1996, 7, 5), 9.8803),
    (-35.0, 0.0, "UTC", date(2004, 12, 4), 14.3849),
    (39.742476, -105.1786, "America/Denver", date(2015, 1, 2), 9.4299),
    (39.742476, -105.1786, "America/Denver", date(2015, 8, 2), 14.2252),
    (40.0, -80.0, "America/New_York", date(2000, 1, 1), 9.3897),
]


@pytest.mark.parametrize(("latitude", "longitude", "zone", "day", "hours"), DAYS)
def test_day_length_of_published_rise_and_set(
    latitude: float, longitude: float, zone: str, day: date, hours: float
) -> None:
    study = Study.model_validate(
        {
            "format": 1,
            "site": {"latitude": latitude, "longitude": longitude, "timezone": zone},
            "meter": [{"id": "m", "files": ["m.csv"]}],
        }
    )
    ours = daily_drivers(study, day, day)["daylight_hours"].iloc[0]
    assert ours == pytest.approx(hours, abs=0.02)


def test_civil_twilight_is_the_sun_six_degrees_below() -> None:
    """Civil dawn and dusk: Defiance, Ohio 2019-11-08, 11:48 and 22:54 UTC (skyfield's tests)."""
    instants = pd.DatetimeIndex(["2019-11-08 11:48", "2019-11-08 22:54"], tz="UTC")
    for elevation in sun_elevation_deg(instants, 41.281944, -84.362778):
        assert elevation == pytest.approx(-6.0, abs=0.2)  # one minute is 0.19 degrees here

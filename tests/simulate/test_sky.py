"""The sky: sun against an independent solar position algorithm, light and cloud against plain physics."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from mv.simulate import random_site
from mv.simulate.arrays import stream
from mv.simulate.minute_clock import minute_clock
from mv.simulate.sky import clear_sky_lux, cloud_cover, cloud_transmittance, make_sky, sun_position


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(44.52, -89.57), (-50.0, -69.0), (65.0, 25.5), (78.2, 15.6)]
)
def test_the_sun_stands_where_the_nrel_algorithm_puts_it(latitude: float, longitude: float) -> None:
    """Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302 (2004), by pvlib's spa_python."""
    from pvlib.solarposition import spa_python

    clock = minute_clock(date(2023, 1, 1), date(2023, 12, 31), "UTC")
    elevation, _ = sun_position(clock, latitude, longitude)
    chosen = np.random.default_rng(1).integers(0, clock.n, 500)
    truth = spa_python(clock.stamps()[chosen], latitude, longitude)["elevation"].to_numpy()
    assert np.abs(elevation[chosen] - truth).max() < 0.05


def test_polar_night_and_midnight_sun_come_out_without_special_cases() -> None:
    clock = minute_clock(date(2023, 1, 1), date(2023, 12, 31), "Arctic/Longyearbyen")
    elevation, _ = sun_position(clock, 78.2, 15.6)
    assert (elevation[clock.span(date(2023, 6, 10), date(2023, 6, 30))] > 0).all()
    assert (elevation[clock.span(date(2023, 12, 10), date(2023, 12, 30))] < 0).all()


def test_outdoor_light_rises_with_the_sun_and_is_gone_at_night() -> None:
    lux = clear_sky_lux(np.array([-20.0, -6.0, 0.0, 5.0, 30.0, 60.0, 90.0]))
    assert (np.diff(lux) > 0).all()
    assert lux[0] == 0
    assert 1 < lux[1] < 10  # civil twilight ends at a few lux
    assert 90_000 < lux[-1] < 140_000  # full sun in the zenith


def test_a_closed_cloud_cover_passes_a_quarter_of_the_light() -> None:
    """Kasten and Czeplak (1980): 1 - 0.75 N^3.4, from memory."""
    assert cloud_transmittance(np.array([0.0, 1.0])) == pytest.approx([1.0, 0.25])


def test_cloud_persists_for_hours_and_forgets_in_weeks() -> None:
    clock = minute_clock(date(2023, 1, 1), date(2023, 12, 31), "UTC")
    cloud = cloud_cover(stream(3, "cloud"), clock, mean=0.55)
    assert cloud.min() >= 0 and cloud.max() <= 1

    def correlation(lag_minutes: int) -> float:
        return float(np.corrcoef(cloud[lag_minutes:], cloud[:-lag_minutes])[0, 1])

    assert correlation(30) > correlation(6 * 60) > correlation(4 * 1440)
    assert correlation(30) > 0.75
    assert abs(correlation(30 * 1440)) < 0.15


def test_the_seasons_turn_over_at_the_equator() -> None:
    north = random_site(1, latitude=48.0)
    south = replace(random_site(1, latitude=-37.8), cloudiness=north.cloudiness)
    for design, warm in ((north, (5, 6, 7)), (south, (11, 0, 1))):
        clock = minute_clock(date(2022, 1, 1), date(2022, 12, 31), design.timezone)
        sky = make_sky(design, clock, 1)
        month = clock.stamps().tz_convert(design.timezone).month.to_numpy() - 1
        mean = np.array([sky.air_c[month == m].mean() for m in range(12)])
        light = np.array([sky.lux[month == m].mean() for m in range(12)])
        assert set(np.argsort(mean)[-3:]) <= {*warm, (warm[2] + 1) % 12, (warm[0] - 1) % 12}
        assert light[list(warm)].mean() > light.mean()

"""Sun, cloud and air above the site, minute by minute."""

import warnings
from dataclasses import dataclass

import numpy as np
import pandas as pd

from mv.simulate.arrays import Floats, autoregressive, stream
from mv.simulate.design import SiteDesign
from mv.simulate.minute_clock import MinuteClock

_SUN_STEP = 5  # minutes between computed positions; straight lines between err by under 0.01 degrees
_CLOUD_STEP = 10  # minutes
ZENITH_LUX = 128_000.0  # clear-sky horizontal illuminance scale; common practice, no source
HORIZON_LUX = 400.0  # clear sky with the sun on the horizon; from memory of twilight tables


@dataclass(frozen=True)
class Sky:
    """`elevation` and `azimuth` in degrees, `cloud` 0..1, `lux` outdoors on the horizontal, `air_c`."""

    elevation: Floats
    azimuth: Floats
    cloud: Floats
    lux: Floats
    beam_share: Floats
    air_c: Floats


def make_sky(design: SiteDesign, clock: MinuteClock, seed: int) -> Sky:
    """The sky of the whole span; the same for every zone and every set of measures."""
    elevation, azimuth = sun_position(clock, design.latitude, design.longitude)
    cloud = cloud_cover(stream(seed, "cloud"), clock, mean=design.cloudiness)
    lux = clear_sky_lux(elevation) * cloud_transmittance(cloud)
    beam = np.where(elevation > 0, 0.7 * np.clip(1.0 - cloud / 0.9, 0.0, 1.0), 0.0)
    return Sky(elevation, azimuth, cloud, lux, beam, air_temperature(design, clock, cloud, seed))


def sun_position(clock: MinuteClock, latitude: float, longitude: float) -> tuple[Floats, Floats]:
    """Geometric elevation and azimuth, degrees, at every minute."""
    from pvlib.solarposition import ephemeris

    coarse = pd.date_range(clock.start, periods=clock.n // _SUN_STEP + 2, freq=f"{_SUN_STEP}min")
    with warnings.catch_warnings():  # pvlib still asks pandas 3 for names due to leave in pandas 4
        warnings.simplefilter("ignore")
        sun = ephemeris(coarse, latitude, longitude)
    known, wanted = np.arange(len(coarse)) * float(_SUN_STEP), np.arange(clock.n, dtype=np.float64)
    elevation = np.interp(wanted, known, sun["elevation"].to_numpy())
    turned = np.unwrap(np.radians(sun["azimuth"].to_numpy()))
    return elevation, np.degrees(np.interp(wanted, known, turned)) % 360.0


def clear_sky_lux(elevation: Floats) -> Floats:
    """Horizontal illuminance under a clear sky, lux; elevation in degrees.

    Power law of the sine by day, exponential fall by twilight (about 3 lux at -6 degrees);
    common practice, no source. A scale for an invented sky, not a published model.
    """
    sine = np.sin(np.radians(np.clip(elevation, 0.0, 90.0)))
    day = HORIZON_LUX + ZENITH_LUX * sine**1.2
    twilight = HORIZON_LUX * np.exp(np.clip(elevation, -18.0, 0.0) * 0.80)
    lux: Floats = np.where(elevation > 0, day, np.where(elevation > -12.0, twilight, 0.0))
    return lux


def cloud_transmittance(cloud: Floats) -> Floats:
    """Share of clear-sky light that passes cloud cover 0..1 (Kasten and Czeplak 1980, from memory)."""
    share: Floats = 1.0 - 0.75 * cloud**3.4
    return share


def cloud_cover(rng: np.random.Generator, clock: MinuteClock, *, mean: float) -> Floats:
    """Cover 0..1 with weather that lasts days and fields that pass in an hour."""
    steps = clock.n // _CLOUD_STEP + 1
    weather = autoregressive(rng, steps // 6 + 2, correlation=np.exp(-1 / 30.0), sd=1.0)
    slow = np.interp(np.arange(steps), np.arange(len(weather)) * 6.0, weather)
    quick = autoregressive(rng, steps, correlation=np.exp(-_CLOUD_STEP / 50.0), sd=0.7)
    centre = np.log(mean / (1.0 - mean)) * 1.1
    cover = 1.0 / (1.0 + np.exp(-(centre + 1.6 * (slow + quick))))
    fine: Floats = np.interp(np.arange(clock.n), np.arange(steps) * float(_CLOUD_STEP), cover)
    return fine


def air_temperature(design: SiteDesign, clock: MinuteClock, cloud: Floats, seed: int) -> Floats:
    """Outdoor dry-bulb, degrees Celsius: season, hour, passing weather."""
    rng = stream(seed, "air")
    hours = clock.n // 60 + 2
    weather = autoregressive(rng, hours, correlation=np.exp(-1 / 60.0), sd=3.6)
    passing = np.interp(np.arange(clock.n) / 60.0, np.arange(hours), weather)
    first = clock.first_day.timetuple().tm_yday
    year = 2 * np.pi * (clock.day + first - 200.0) / 365.25
    side = 1.0 if design.latitude >= 0 else -1.0
    season = side * design.temperature_swing_c * np.cos(year)
    hour = 4.0 * (1.1 - cloud) * np.cos(2 * np.pi * (clock.minute_of_day - 900.0) / 1440.0)
    air: Floats = design.mean_temperature_c + season + hour + passing
    return air

"""Sunrise and sunset to a few minutes, to set a clock by. (Drivers use the full solar position.)"""

import numpy as np
from numpy.typing import NDArray

HORIZON_DEGREES = -0.833  # upper limb at the horizon with average refraction; US Naval Observatory


def sunrise_sunset_utc(
    days: NDArray[np.int64], latitude: float, longitude: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """UTC seconds since 1970 of sunrise and sunset for the local solar days that begin at the given
    days since 1970; NaN where the sun does not rise or set.

    Source: Fourier series of declination and equation of time by Spencer (1971), as given in NOAA's
    "General Solar Position Calculations" (from memory). Within about 3 minutes between the polar
    circles for 1950 to 2050; tests hold it to published rise and set times.
    """
    day_of_year = (days - (days // 1461) * 1461) % 365.25  # phase of the year, to a day
    angle = 2 * np.pi / 365.25 * (day_of_year + 0.5 - longitude / 360.0)
    sine = np.sin
    declination = (
        0.006918
        - 0.399912 * np.cos(angle)
        + 0.070257 * sine(angle)
        - 0.006758 * np.cos(2 * angle)
        + 0.000907 * sine(2 * angle)
        - 0.002697 * np.cos(3 * angle)
        + 0.00148 * sine(3 * angle)
    )
    equation_minutes = 229.18 * (
        0.000075
        + 0.001868 * np.cos(angle)
        - 0.032077 * sine(angle)
        - 0.014615 * np.cos(2 * angle)
        - 0.040849 * sine(2 * angle)
    )
    phi = np.radians(latitude)
    cosine = (sine(np.radians(HORIZON_DEGREES)) - sine(phi) * sine(declination)) / (
        np.cos(phi) * np.cos(declination)
    )
    with np.errstate(invalid="ignore"):
        half_day_minutes = 4.0 * np.degrees(np.arccos(np.where(np.abs(cosine) <= 1, cosine, np.nan)))
    noon = days * 86_400 + 43_200 - 240.0 * longitude - 60.0 * equation_minutes
    return noon - 60.0 * half_day_minutes, noon + 60.0 * half_day_minutes

"""False alarms of drift over a year of monthly looks, and the power of one year's look.

Daily energy of an invented zone with autocorrelated deviations; quiet years are looked at after
every month from the third on, as a facility manager would. Run by hand:
python tests/benchmarks/bench_drift_looks.py [years]
"""

import sys

import numpy as np
import pandas as pd

from mv.drift import DriftSeries, find_drift

NOISE, RHOS, STEPS = 0.05, (0.0, 0.4, 0.7), (0.05, 0.10, 0.15)


def year(seed: int, rho: float, step: float = 0.0, on: int = 200) -> DriftSeries:
    rng = np.random.default_rng(seed)
    index = pd.date_range("2024-01-01", periods=365)
    is_open = np.asarray(index.day_of_week < 5)
    sun = 5 + 3 * np.sin(2 * np.pi * (np.arange(365) - 80) / 365)
    e = np.zeros(365)
    for i in range(1, 365):
        e[i] = rho * e[i - 1] + np.sqrt(1 - rho**2) * rng.standard_normal()
    usual = np.where(is_open, 46 - 1.5 * sun, 6.0)
    energy = usual * (1 + NOISE * e)
    energy[on:] *= 1 + step
    drivers = pd.DataFrame(
        {
            "hours_open": np.where(is_open, 12.0, 0.0),
            "sun_open_hours": np.where(is_open, sun, 0.0),
            "is_open_day": is_open,
        },
        index=index,
    )
    return DriftSeries("z", pd.Series(energy, index), drivers, ("z",))


def first_days(series: DriftSeries, days: int) -> DriftSeries:
    return DriftSeries(series.where, series.energy_kwh[:days], series.drivers[:days], series.zones)


def main(years: int = 100) -> None:
    print("| lag-1 | quiet years with any alarm in 10 monthly looks | steps of 5, 10, 15 % found |")
    print("|---|---|---|")
    looks = [round(30.4 * month) for month in range(3, 13)]
    for rho in RHOS:
        false = sum(
            any(find_drift([first_days(year(seed, rho), n)], [], confidence=0.9) for n in looks)
            for seed in range(years)
        )
        found = [
            np.mean(
                [bool(find_drift([year(seed, rho, step)], [], confidence=0.9)) for seed in range(years // 2)]
            )
            for step in STEPS
        ]
        shares = ", ".join(f"{100 * share:.0f} %" for share in found)
        print(f"| {rho} | {false} of {years} | {shares} |")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))

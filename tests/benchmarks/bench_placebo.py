"""Real meters with nothing known to have changed: how often the interval holds a saving of zero.

Folder 07 of the open data: university buildings in Cambridge, hourly kWh; baseline 2018, reporting
2019; then 2019 scaled by 0.8, where the saving is a fifth of the baseline's expectation.
Run by hand: python tests/benchmarks/bench_placebo.py [--weather]. No random draw.
"""

import argparse
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.ledger import Ledger
from mv.base.series import WeatherSeries
from mv.base.study_records import Study
from mv.drivers import daily_drivers
from mv.regression import fit
from mv.savings import avoided_energy

CONFIDENCE = 0.90
FOLDER = Path(__file__).resolve().parents[3] / "shared" / "datasets" / "07_cambridge_estates_hourly"
# England's bank holidays, and the university's closed days between Christmas and New Year.
HOLIDAYS = [
    "2018-01-01", "2018-03-30", "2018-04-02", "2018-05-07", "2018-05-28", "2018-08-27",
    "2019-01-01", "2019-04-19", "2019-04-22", "2019-05-06", "2019-05-27", "2019-08-26",
    *[f"{year}-12-{day}" for year in (2018, 2019) for day in range(24, 32)],
]  # fmt: skip


def study() -> Study:
    """Cambridge, with its holidays and no opening hours."""
    return Study.model_validate(
        {
            "format": 1,
            "site": {"latitude": 52.21, "longitude": 0.12, "timezone": "Europe/London"},
            "meter": [{"id": "m", "files": ["m.csv"], "measures": "whole building"}],
            "occupancy": {"holidays": HOLIDAYS},
        }
    )


def weather() -> WeatherSeries:
    """Bedford's hourly air temperature."""
    table = pd.read_csv(FOLDER / "weather_bedford_2014_2022.csv.gz", parse_dates=["datetime"])
    series = table.set_index("datetime")["air_temperature [degC]"].tz_localize("UTC")
    return WeatherSeries(60.0, series, Ledger("weather", 0, 0, {}, 0, None, None, None, None, {}))


def daily_energy() -> pd.DataFrame:
    """kWh by local day; the publisher wrote gaps as zeros, so a day with a zero hour is left out."""
    wide = pd.read_csv(FOLDER / "electricity_kwh_2018_2019_wide.csv.gz", index_col=0, parse_dates=True)
    wide = wide.tz_localize("UTC")
    dead = (wide == 0).mean() > 0.2
    wide = wide.loc[:, ~dead].where(wide > 0)
    day = wide.index.tz_convert("Europe/London").tz_localize(None).normalize()
    total, known = wide.groupby(day).sum(), wide.groupby(day).count()
    return total.where(known >= 23)


def main() -> None:
    """Print coverage of zero and of 20 %, ours and the published."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weather", action="store_true")
    parser.add_argument("--each", action="store_true")
    chosen = parser.parse_args()
    drivers = daily_drivers(
        study(), date(2018, 1, 1), date(2019, 12, 31), weather=weather() if chosen.weather else None
    )
    energy = daily_energy().reindex(drivers.index)
    before, after = drivers[:"2018-12-31"], drivers["2019-01-01":]
    rows = []
    for name in energy:
        model = fit(energy.loc[before.index, name], before, kind="whole building", applied_to=[after])
        if isinstance(model, CannotSay):
            print(name, model.why)
            continue
        for factor in (1.0, 0.8):
            actual = energy.loc[after.index, name] * factor
            result = avoided_energy(model, after, actual, confidence=CONFIDENCE)
            if isinstance(result.total, CannotSay):
                print(name, result.total.why)
                continue
            truth = (1 - factor) * result.expected_kwh
            total = result.total
            row = {
                "meter": name,
                "factor": factor,
                "change": total.estimate / result.expected_kwh,
                "half": (total.high - total.low) / 2 / result.expected_kwh,
                "ours": total.low <= truth <= total.high,
            }
            for entry in result.published:
                row[entry.method] = abs(total.estimate - truth) <= entry.half_width
            rows.append(row)
            if chosen.each and factor == 1.0:
                print(
                    f"{name}: change {row['change']:+.1%} half {row['half']:.1%} {row['ours']} "
                    f"{model.form} r2 {model.r2:.2f} {dict(model.persistence)}"
                )
    table = pd.DataFrame(rows)
    for factor, part in table.groupby("factor"):
        flags = part.drop(columns=["meter", "factor", "change", "half"]).astype(float)
        print(f"\n2019 x {factor}: {len(part)} meters; holds the truth, %")
        print((100 * flags.mean()).round(0).to_string())
        print(f"median half-width {part['half'].median():.1%}, median |change| "
              f"{(part['change'] - (1 - factor)).abs().median():.1%}")  # fmt: skip


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main()

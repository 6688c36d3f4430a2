"""What an analyst would write in an hour: pandas reads, statsmodels fits days, JSON comes out.

Run: python tests/benchmarks/plain_script.py STUDY_FOLDER OUT.json. The yardstick of the speed benches: it
reads the same meter and occupancy files and fits, for both periods of each meter, daily energy on open
days, length of the day and people counted. No cleaning, no ledger, no settings, no drift.
"""

import json
import sys
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import statsmodels.api as sm

OPEN_DAYS = {"mon": 0, "tue": 1, "wed": 2, "thu": 3, "fri": 4, "sat": 5, "sun": 6}


def main() -> None:
    """Fit every meter of one study."""
    folder, out = Path(sys.argv[1]), Path(sys.argv[2])
    study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
    before, after = (pd.date_range(*study["periods"][name]) for name in ("baseline", "reporting"))
    drivers = daily(folder, study, before.append(after))
    fits = {meter["id"]: fitted(folder, study, meter, drivers, before, after) for meter in study["meter"]}
    out.write_text(json.dumps(fits, indent=1), encoding="utf-8")


def daily(folder: Path, study: dict, days: pd.DatetimeIndex) -> pd.DataFrame:
    """The drivers of each day."""
    latitude = np.radians(study["site"]["latitude"])
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + days.day_of_year) / 365)
    length = 24 / np.pi * np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1, 1))
    first, last = (next(iter(study["occupancy"]["hours"])).split("-") * 2)[:2]
    closed = days.isin(pd.to_datetime(study["occupancy"]["holidays"]))
    opened = (days.day_of_week >= OPEN_DAYS[first]) & (days.day_of_week <= OPEN_DAYS[last]) & ~closed
    people = pd.read_csv(folder / "occupancy.csv", parse_dates=["time"]).set_index("time")["people"]
    people = people.tz_convert(study["site"]["timezone"]).resample("D").sum().tz_localize(None)
    table = {"open": opened.astype(float), "light": length, "people": people.reindex(days).fillna(0)}
    return sm.add_constant(pd.DataFrame(table, index=days))


def fitted(folder: Path, study: dict, meter: dict, drivers, before, after) -> dict:
    """Both models of one meter and what they say was avoided."""
    rows = pd.concat([pd.read_csv(folder / name) for name in meter["files"]])
    stamps = pd.DatetimeIndex(pd.to_datetime(rows[meter["time_column"]], utc=True))
    stamps = stamps.tz_convert(study["site"]["timezone"]).tz_localize(None)
    energy = pd.Series(rows[meter["value_column"]].to_numpy(), index=stamps).resample("D").sum()
    energy = energy.reindex(drivers.index)
    old = sm.OLS(energy[before], drivers.loc[before], missing="drop").fit()
    new = sm.OLS(energy[after], drivers.loc[after], missing="drop").fit()
    return {
        "avoided_kwh": float((old.predict(drivers.loc[after]) - energy[after]).sum()),
        "r2": float(old.rsquared),
        "terms": old.params.to_dict(),
        "t": old.tvalues.to_dict(),
        "terms_after": new.params.to_dict(),
    }


if __name__ == "__main__":
    main()

"""Each interval of the series says what befell it, so that the picture can show it."""

import numpy as np
import pandas as pd


def names_at(series, stamps: pd.DatetimeIndex) -> list[str]:
    codes = series.faults.reindex(stamps).to_numpy()
    return ["" if code == 0 else series.fault_names[int(code) - 1] for code in codes]


def test_each_cause_stands_at_its_interval(clean, raw, study, quarter_hours):
    stamps = quarter_hours(30)
    hour = stamps.tz_convert("America/Chicago").hour
    kwh = np.where((hour >= 7) & (hour < 19), 2.0, 0.1)
    kwh = kwh * (1 + 0.01 * np.random.default_rng(1).standard_normal(len(kwh)))
    at = {"spike": 96 * 3 + 40, "sentinel value": 96 * 4 + 40, "negative": 96 * 5 + 40}
    kwh[at["spike"]], kwh[at["sentinel value"]], kwh[at["negative"]] = 9.0, 65535.0, -2.0
    kwh[96 * 12 + 46] = kwh[96 * 12 + 40 : 96 * 12 + 47].sum()
    estimated = np.zeros(len(kwh), bool)
    estimated[96 * 7 + 40] = True
    keep = np.ones(len(kwh), bool)
    keep[96 * 9 : 96 * 9 + 40] = False  # a gap across the morning's edge
    keep[96 * 10 + 50] = False  # a short gap at a steady level, filled
    keep[96 * 12 + 40 : 96 * 12 + 46] = False  # a silence whose energy the next reading holds
    order = np.flatnonzero(keep)
    order = np.sort(np.append(order, 96 * 14 + 40))  # one reading comes twice
    zone = {"id": "z", "meter": "m", "fixtures": 100, "watts_before": 90, "watts_after": 90}
    series = clean(
        raw(stamps[order], kwh[order], estimated=estimated[order]), study=study(zones=[zone])
    )  # fmt: skip
    assert len(series.faults) == len(series.energy_kwh)
    wanted = {
        **{place: [name] for name, place in at.items()},
        96 * 7 + 40: ["flagged estimate"],
        96 * 9 + 3: ["gap"],
        96 * 10 + 50: ["short gap filled"],
        96 * 12 + 41: ["catch-up lump"],
        96 * 12 + 46: ["catch-up lump"],
        96 * 14 + 40: ["exact duplicate"],
        96 * 15 + 40: [""],
    }
    assert {place: names_at(series, stamps[[place]]) for place in wanted} == wanted
    assert series.energy_kwh[series.faults == 0].notna().all()


def test_what_lies_outside_the_periods_is_no_fault(clean, raw, study, quarter_hours, timetable):
    stamps = quarter_hours(60)
    periods = {"baseline": ["2024-01-10", "2024-01-31"], "reporting": ["2024-02-05", "2024-02-28"]}
    series = clean(raw(stamps, timetable(stamps)), study=study(periods=periods))
    assert "outside the periods" not in series.fault_names
    inside = series.energy_kwh.notna()
    assert (series.faults[inside] == 0).all()

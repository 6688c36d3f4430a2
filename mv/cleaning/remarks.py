"""What the finished series shows that a person should judge. Nothing is changed here."""

import numpy as np
import pandas as pd

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.series import WeatherSeries
from mv.base.study_records import Study
from mv.cleaning.clock_check import clock_remarks
from mv.cleaning.edges import spread_sample
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.limits import connected_loads
from mv.cleaning.mixed import mixed_remarks
from mv.cleaning.periods import bounds
from mv.cleaning.site_check import longitude_remark

# Ratios of the highest usual power to the connected load that a wrong unit or interval makes.
_FACTORS = {
    1000.0: "watts taken as kilowatts (a factor of 1000)",
    60.0: "kW and kWh of one minute exchanged (a factor of 60)",
    12.0: "kW and kWh of five minutes exchanged (a factor of 12)",
    4.0: "kW and kWh of a quarter hour exchanged (a factor of 4)",
    2.0: "kW and kWh of a half hour exchanged, or a multiplier applied twice (a factor of 2)",
}
FACTOR_TOLERANCE = 0.20  # full power stands within this of the connected load; common practice, no source
PHASE_SHARES = {1 / 3: "two of three phases", 2 / 3: "one of three phases"}
PHASE_TOLERANCE = 0.04
FULL_QUANTILE = 0.99  # the level that lighting reaches when all of it is on


def remarks_on(
    cells: Cells, grid: Grid, meter: Meter, study: Study, weather: WeatherSeries | None
) -> list[Remark]:
    """Full power against the connected load, the clock, and whether something else is on the meter."""
    if grid.count == 0 or meter.measures != "lighting" or not np.isfinite(cells.kwh).any():
        return []
    offset = round(240.0 * study.site.longitude / 3600.0) * 3600  # standard time, near enough for a night
    misplaced = longitude_remark(study.site)
    return [
        *([misplaced] if misplaced else []),
        *_load_remarks(cells, grid, meter, study),
        *([] if misplaced else clock_remarks(cells, grid, meter, study)),
        *mixed_remarks(cells, grid, offset, weather),
    ]


def span_text(grid: Grid, timezone: str) -> str:
    """The first and last moment by the site's clock, and whether those days are whole."""
    first = pd.Timestamp(grid.first, unit="s", tz="UTC").tz_convert(timezone)
    after = pd.Timestamp(grid.first + grid.count * grid.step, unit="s", tz="UTC").tz_convert(timezone)
    partial = [name for name, moment in (("first", first), ("last", after)) if moment != moment.normalize()]
    text = f"{first:%Y-%m-%d %H:%M} to {after:%Y-%m-%d %H:%M} by the site's clock"
    return text + (f"; the {' and '.join(partial)} day is partial" if partial else "")


def _load_remarks(cells: Cells, grid: Grid, meter: Meter, study: Study) -> list[Remark]:
    before, _ = connected_loads(meter, study)
    if before is None:
        return []
    kwh = cells.kwh
    if study.periods is not None:
        low, high = bounds(study.periods.baseline, study.site.timezone)
        first, after = (max((edge - grid.first) // grid.step, 0) for edge in (low, high))
        kwh = kwh[first:after]
    kwh = spread_sample(kwh)
    if len(kwh) < 96:
        return []
    full_kw = float(np.quantile(kwh, FULL_QUANTILE)) * 3600.0 / grid.step
    ratio = full_kw / before
    if ratio <= 0:
        return []
    for factor, text in _FACTORS.items():
        for share, verb in ((factor, "above"), (1 / factor, "below")):
            if abs(ratio / share - 1) <= FACTOR_TOLERANCE / (2 if factor == 2.0 else 1):
                return [_factor_remark(full_kw, before, ratio, text, verb, meter)]
    for share, text in PHASE_SHARES.items():
        if abs(ratio - share) <= PHASE_TOLERANCE:
            return [
                Remark(
                    "missing-phase",
                    f"full power before the retrofit is {full_kw:.3g} kW, {ratio:.2f} of the connected "
                    f"load: {text} may be "
                    "missing from the measurement",
                    remedy="Have the current transformers checked by a qualified person, or correct "
                    "fixtures and watts.",
                )
            ]
    return []


def _factor_remark(
    full_kw: float, load_kw: float, ratio: float, text: str, verb: str, meter: Meter
) -> Remark:
    return Remark(
        "factor",
        f"full power before the retrofit is {full_kw:.3g} kW, {ratio:.3g} times the connected load of "
        f"{load_kw:.3g} kW, so "
        f"{verb} it as by {text}",
        remedy=f"Check quantity, unit and multiplier of [[meter]] id = {meter.id!r}; nothing was rescaled.",
    )

"""What the finished series shows that a person should judge. Nothing is changed here."""

import numpy as np

from mv.base.ledger import Remark
from mv.base.study_records import Meter, Study
from mv.cleaning.clock_check import clock_remarks
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.limits import connected_loads
from mv.cleaning.periods import bounds

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


def remarks_on(cells: Cells, grid: Grid, meter: Meter, study: Study) -> list[Remark]:
    """Full power against the connected load, partial days, and the clock."""
    if grid.count == 0 or not np.isfinite(cells.kwh).any():
        return []
    return [
        *_load_remarks(cells, grid, meter, study),
        *(clock_remarks(cells, grid, meter, study) if meter.measures == "lighting" else []),
    ]


def _load_remarks(cells: Cells, grid: Grid, meter: Meter, study: Study) -> list[Remark]:
    before, _ = connected_loads(meter, study)
    if before is None or meter.measures != "lighting":
        return []
    kwh = cells.kwh
    if study.periods is not None:
        low, high = bounds(study.periods.baseline, study.site.timezone)
        first, after = (max((edge - grid.first) // grid.step, 0) for edge in (low, high))
        kwh = kwh[first:after]
    kwh = kwh[np.isfinite(kwh)]
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
                    f"full power before the retrofit is {full_kw:.3g} kW, {ratio:.2f} of the connected load: {text} may be "
                    "missing from the measurement",
                    remedy="Have the current transformers checked by a qualified person, or correct fixtures and watts.",
                )
            ]
    return []


def _factor_remark(
    full_kw: float, load_kw: float, ratio: float, text: str, verb: str, meter: Meter
) -> Remark:
    return Remark(
        "factor",
        f"full power before the retrofit is {full_kw:.3g} kW, {ratio:.3g} times the connected load of {load_kw:.3g} kW, so "
        f"{verb} it as by {text}",
        remedy=f"Check quantity, unit and multiplier of [[meter]] id = {meter.id!r}; nothing was rescaled.",
    )

"""A meter's raw readings into one clean series, with the ledger of how."""

from dataclasses import replace

import numpy as np
import pandas as pd

from mv.base.ledger import Ledger
from mv.base.meter_records import Meter
from mv.base.raw import RawMeter
from mv.base.series import Bill, MeterSeries, NativeSpan, WeatherSeries
from mv.base.study_records import Study
from mv.cleaning.account import make_ledger
from mv.cleaning.deployment import set_aside_tests
from mv.cleaning.duplicates import set_aside_repeats, set_aside_strays
from mv.cleaning.energy import energy_of
from mv.cleaning.fault_map import fault_codes
from mv.cleaning.faults import set_aside_faults
from mv.cleaning.folded import folded
from mv.cleaning.gaps import fill_short_gaps
from mv.cleaning.grid import Cells, Grid, make_grid, onto_grid
from mv.cleaning.periods import coverage, set_aside_outside
from mv.cleaning.readings import Readings
from mv.cleaning.remarks import remarks_on, span_text

# Longer readings are bills. A day at a clock change has 25 hours (common practice, no source).
LONGER_THAN_A_DAY_SECONDS = 36 * 3600
SUM_ROUNDING = 1e-6  # of the energy: what adding up in another order may differ by; no source


def clean_meter(
    raw: RawMeter, meter: Meter, study: Study, *, weather: WeatherSeries | None = None
) -> MeterSeries:
    """Energy per interval on one regular grid. Every reading is used or set aside for a reason.

    With `weather` a lighting meter is also asked whether its nights follow the temperature outdoors.
    Raises ReadingError where the quantity needs a number the study does not give.
    """
    table = energy_of(raw, meter, study)
    set_aside_strays(table)
    set_aside_repeats(table)
    intervals = {n: file.interval_seconds for n, file in enumerate(raw.files) if len(file.start)}
    set_aside_faults(table, meter, study)
    if meter.measures == "lighting":
        set_aside_tests(table, intervals)
    set_aside_outside(table, study)
    grid = make_grid(table, intervals, meter.interval_minutes)
    if grid.count:
        table.inferred["span"] = span_text(grid, study.site.timezone)
    states = all(file.quantity == "on-off" for file in raw.files)
    cells = onto_grid(table, grid, states=states)
    present = ~np.isnan(cells.kwh)
    remarks = [*raw.remarks, *(r for file in raw.files for r in file.remarks), *table.remarks]
    remarks += remarks_on(cells, grid, meter, study, weather)
    filled = fill_short_gaps(cells, grid)
    ledger = make_ledger(raw, table, filled, coverage(study, grid, present), folded(remarks))
    _check_sum(cells, ledger)
    codes, names = fault_codes(table, grid, cells, ~present & ~np.isnan(cells.kwh))
    series = _series(raw, cells, grid, ledger.meter, ledger)
    faults = pd.Series(codes, index=series.energy_kwh.index, name="faults", copy=False)
    series = replace(series, faults=faults, fault_names=names)
    return series if states else replace(series, bills=_bills(table))


def _check_sum(cells: Cells, ledger: Ledger) -> None:
    """The series holds the energy of the used readings and of the filled gaps, and no other."""
    total = float(np.nansum(cells.kwh))
    known = (ledger.energy_used_kwh or 0.0) + ledger.energy_filled_kwh
    weight = float(np.nansum(np.abs(cells.kwh)))
    if abs(total - known) > SUM_ROUNDING * max(weight, abs(known), 1.0):
        raise AssertionError(
            f"series of {ledger.meter}: {total} kWh on the grid, {known} kWh read and filled do not agree"
        )


def _series(raw: RawMeter, cells: Cells, grid: Grid, meter: str, ledger: "object") -> MeterSeries:
    index = utc_index(grid)
    return MeterSeries(
        meter=meter,
        interval_minutes=grid.step / 60.0,
        energy_kwh=pd.Series(cells.kwh, index=index, name="energy_kwh", copy=False),
        estimated=pd.Series(cells.estimated, index=index, name="estimated", copy=False),
        ledger=ledger,  # type: ignore[arg-type]
        spread=None
        if cells.spread is None
        else pd.Series(cells.spread, index=index, name="spread", copy=False),
        native_spans=_native_spans(raw),
    )


def utc_index(grid: Grid) -> pd.DatetimeIndex:
    """The grid's starts as UTC stamps."""
    return pd.date_range(
        pd.Timestamp(grid.first, unit="s", tz="UTC").as_unit("us"),
        periods=grid.count,
        freq=pd.Timedelta(seconds=grid.step).as_unit("us"),
        unit="us",
    )


def _native_spans(raw: RawMeter) -> tuple[NativeSpan, ...]:
    """Consecutive files of one interval are one span."""
    spans: list[NativeSpan] = []
    for file in raw.files:
        if not len(file.start) or file.interval_seconds is None:
            continue
        step = file.interval_seconds
        first, last = int(file.start.min()), int(file.start.max()) + step
        begin, after = (pd.Timestamp(second, unit="s", tz="UTC") for second in (first, last))
        if spans and spans[-1].interval_minutes == step / 60.0:
            spans[-1] = NativeSpan(spans[-1].first, max(after, spans[-1].after), step / 60.0)
        else:
            spans.append(NativeSpan(begin, after, step / 60.0))
    return tuple(spans)


def _bills(table: Readings) -> tuple[Bill, ...]:
    """The used readings that are longer than a day, as they were read."""
    rows = np.flatnonzero(table.used & (table.seconds > LONGER_THAN_A_DAY_SECONDS))
    return tuple(
        Bill(
            pd.Timestamp(int(table.start[row]), unit="s", tz="UTC"),
            pd.Timestamp(int(table.start[row] + table.seconds[row]), unit="s", tz="UTC"),
            float(table.kwh[row]),
            bool(table.estimated[row]),
        )
        for row in rows
    )

"""From the inventory to the promised kWh and kW, row by row."""

import math
from collections.abc import Iterable

from mv.base.estimate import CannotSay
from mv.predicted.equations import (
    control_saving_kwh,
    fixture_saving_kwh,
    full_load_hours_after,
    hvac_interaction_kwh,
    peak_saving_kw,
    standby_use_kwh,
)
from mv.predicted.records import (
    Inventory,
    InventoryRow,
    PredictedPart,
    Prediction,
    RowPrediction,
)


def predict(inventory: Inventory) -> Prediction:
    """The annual saving that an inventory promises, in parts, by zone and in total.

    The order of the parts is fixed: lamp and fixture change at the old hours, controls on the new
    connected load, standby, HVAC interaction. The peak saving is given only where every row
    states a coincidence factor.
    """
    rows = tuple(predict_row(row) for row in inventory.rows)
    peak, unsaid = _peak(rows)
    return Prediction(
        annual_kwh=math.fsum(row.total_kwh for row in rows),
        peak_kw=peak,
        source=f"inventory {inventory.file}",
        by_zone=_by_zone(rows),
        parts=_parts(rows),
        rows=rows,
        remarks=inventory.remarks,
        cannot_say=unsaid,
    )


def predict_row(row: InventoryRow) -> RowPrediction:
    """What one space promises a year."""
    load = {
        "connected_kw_before": row.connected_kw_before,
        "connected_kw_after": row.connected_kw_after,
    }
    fixture = fixture_saving_kwh(**load, hours_per_year=row.hours_per_year)
    control = control_saving_kwh(
        connected_kw_after=row.connected_kw_after,
        hours_per_year=row.hours_per_year,
        control_saving_fraction=row.control_saving_fraction,
    )
    standby = 0.0 - standby_use_kwh(
        quantity=row.quantity,
        standby_watts=row.standby_watts,
        full_load_hours=full_load_hours_after(
            hours_per_year=row.hours_per_year,
            control_saving_fraction=row.control_saving_fraction,
        ),
    )
    hvac = hvac_interaction_kwh(
        lighting_saving_kwh=fixture + control + standby, hvac_energy_factor=row.hvac_energy_factor
    )
    return RowPrediction(row, fixture, control, standby, hvac, _row_peak_kw(row))


def _row_peak_kw(row: InventoryRow) -> float | None:
    if row.coincidence_factor is None:
        return None
    return peak_saving_kw(
        connected_kw_before=row.connected_kw_before,
        connected_kw_after=row.connected_kw_after,
        coincidence_factor=row.coincidence_factor,
        hvac_demand_factor=row.hvac_demand_factor,
        standby_kw=row.quantity * row.standby_watts / 1000.0,
    )


def _peak(rows: tuple[RowPrediction, ...]) -> tuple[float | None, tuple[CannotSay, ...]]:
    without = [entry.row.line for entry in rows if entry.peak_kw is None]
    if not without:
        return math.fsum(entry.peak_kw or 0.0 for entry in rows), ()
    lines = ", ".join(str(line) for line in without[:5]) + (" ..." if len(without) > 5 else "")
    why = f"the inventory states no coincidence_factor in line {lines}"
    return None, (CannotSay("predicted peak kW", why),)


def _by_zone(rows: Iterable[RowPrediction]) -> dict[str, float]:
    shares: dict[str, list[float]] = {}
    for entry in rows:
        shares.setdefault(entry.row.zone, []).append(entry.total_kwh)
    return {zone: math.fsum(values) for zone, values in shares.items()}


def _parts(rows: tuple[RowPrediction, ...]) -> tuple[PredictedPart, ...]:
    return (
        PredictedPart(
            "lamp and fixture change",
            math.fsum(entry.fixture_kwh for entry in rows),
            "(connected kW before - after) x hours before",
        ),
        PredictedPart(
            "controls",
            math.fsum(entry.control_kwh for entry in rows),
            "new connected kW x hours before x control saving fraction",
        ),
        PredictedPart(
            "standby",
            math.fsum(entry.standby_kwh for entry in rows),
            "sensors and drivers with the light off or dimmed",
        ),
        PredictedPart(
            "HVAC interaction",
            math.fsum(entry.hvac_kwh for entry in rows),
            "the inventory's HVAC energy factors on the lighting saving",
        ),
    )

"""Sanity bounds: what in an inventory cannot be so, or does not fit the site's other figures."""

from collections.abc import Collection, Mapping

from mv.base.study_records import Zone
from mv.predicted.equations import HOURS_PER_YEAR
from mv.predicted.prediction import predict_row
from mv.predicted.records import Inventory, InventoryFinding, InventoryRow

FIXTURE_WATTS_MOST = 2500.0
"""Input W above which a fixture is a likely slip (kW for W, room for fixture). No source."""
HVAC_FACTOR_RANGE = (0.25, 1.6)
"""A multiplier outside it is a likely slip, such as 0.10 for 1.10. Published yields run from 0.29
(hospital, resistance heat) to 1.30 (refrigerated space): regional table of 2012, see tests."""
CONNECTED_LOAD_TOLERANCE = 0.05
"""Fraction by which a metered peak may pass the connected load: voltage, metering. No source."""
COUNT_TOLERANCE = 0.01
"""Fraction by which installed counts and watts may differ from the inventory. No source."""


def inventory_findings(
    inventory: Inventory,
    *,
    zones: Collection[Zone] = (),
    metered_peak_kw_before: Mapping[str, float] | None = None,
    metered_peak_kw_after: Mapping[str, float] | None = None,
) -> tuple[InventoryFinding, ...]:
    """Everything in the inventory that a reviewer would stop at; none of it ends the run.

    The metered peaks, kW, are by zone: those of meters that feed one zone alone.
    """
    found = [finding for row in inventory.rows for finding in _row_findings(inventory.file, row)]
    for zone in zones:
        found += _against_zone(inventory, zone)
    found += _against_peaks(inventory, metered_peak_kw_before or {}, "before")
    found += _against_peaks(inventory, metered_peak_kw_after or {}, "after")
    return tuple(found)


def _row_findings(file: str, row: InventoryRow) -> list[InventoryFinding]:
    checks = (
        (
            row.hours_per_year > HOURS_PER_YEAR,
            "hours-beyond-a-year",
            f"hours_per_year is {row.hours_per_year:g}; a year has {HOURS_PER_YEAR:g}",
        ),
        (
            max(row.watts_before, row.watts_after) > FIXTURE_WATTS_MOST,
            "watts-unlikely",
            f"a fixture of {max(row.watts_before, row.watts_after):g} W is unlikely",
        ),
        (
            row.watts_after > row.watts_before,
            "watts-rise",
            f"watts_after ({row.watts_after:g}) is above watts_before ({row.watts_before:g})",
        ),
        (
            row.standby_watts > 0 and row.standby_watts >= row.watts_after,
            "standby-above-full-load",
            f"standby_watts ({row.standby_watts:g}) is not below watts_after ({row.watts_after:g})",
        ),
        (row.quantity == 0, "no-fixtures", "quantity is 0"),
        (not float(row.quantity).is_integer(), "part-fixture", f"quantity is {row.quantity:g}"),
        *_factor_checks(row),
        _saving_check(row),
    )
    return [
        InventoryFinding(code, f"space '{row.space}': {what}", file, (row.line,), row.space, row.zone)
        for wrong, code, what in checks
        if wrong
    ]


def _factor_checks(row: InventoryRow) -> list[tuple[bool, str, str]]:
    low, high = HVAC_FACTOR_RANGE
    return [
        (
            not low <= value <= high,
            "hvac-factor-unlikely",
            f"{name} is {value:g}; it multiplies the saving, so 10 % more is 1.10",
        )
        for name, value in (
            ("hvac_energy_factor", row.hvac_energy_factor),
            ("hvac_demand_factor", row.hvac_demand_factor),
        )
    ]


def _saving_check(row: InventoryRow) -> tuple[bool, str, str]:
    parts = predict_row(row)
    saving = parts.total_kwh - parts.hvac_kwh
    before = row.connected_kw_before * row.hours_per_year
    if saving < 0:
        return True, "saving-negative", f"the row costs {-saving:,.0f} kWh a year more than before"
    return (
        saving > before,
        "saving-above-baseline",
        f"saves {saving:,.0f} kWh a year of {before:,.0f} kWh used before",
    )


def _against_zone(inventory: Inventory, zone: Zone) -> list[InventoryFinding]:
    rows = inventory.of_zone(zone.id)
    if not rows:
        what = f"zone '{zone.id}' has no row in the inventory"
        return [InventoryFinding("zone-not-in-inventory", what, inventory.file, zone=zone.id)]
    pairs = (
        ("fixtures", zone.fixtures, sum(row.quantity for row in rows), ""),
        ("connected kW before", zone.connected_kw_before, _kw(rows, "before"), " kW"),
        ("connected kW after", zone.connected_kw_after, _kw(rows, "after"), " kW"),
    )
    return [
        InventoryFinding(
            "inventory-differs-from-zone",
            f"zone '{zone.id}', {name}: {installed:g}{unit} in the study, {listed:g}{unit} in the inventory",
            inventory.file,
            tuple(row.line for row in rows),
            zone=zone.id,
            remedy="Count again: the study's zone says what is installed.",
        )
        for name, installed, listed, unit in pairs
        if installed is not None
        and abs(installed - listed) > COUNT_TOLERANCE * max(abs(installed), abs(listed))
    ]


def _kw(rows: Collection[InventoryRow], when: str) -> float:
    return float(sum(getattr(row, f"connected_kw_{when}") for row in rows))


def _against_peaks(inventory: Inventory, peaks: Mapping[str, float], when: str) -> list[InventoryFinding]:
    found = []
    for zone, peak_kw in peaks.items():
        rows = inventory.of_zone(zone)
        connected = _kw(rows, when)
        if rows and peak_kw > connected * (1.0 + CONNECTED_LOAD_TOLERANCE):
            found.append(
                InventoryFinding(
                    "metered-above-connected",
                    f"zone '{zone}': the meter reached {peak_kw:.4g} kW {when} the retrofit, "
                    f"the inventory's connected load is {connected:.4g} kW",
                    inventory.file,
                    tuple(row.line for row in rows),
                    zone=zone,
                    remedy="Look for a wrong multiplier, watts or count, or another load.",
                )
            )
    return found

"""The claim's workbook: totals are live formulas over the daily sheet and recompute to the result."""

import io
from datetime import datetime
from typing import Any

from mv.base.result_parts import estimate, part
from mv.claim.daily_sheets import (
    BY_METER,
    DAILY,
    MONTHLY,
    daily_rows,
    write_by_meter,
    write_daily,
    write_monthly,
)
from mv.claim.listed_sheets import (
    write_checklist,
    write_findings,
    write_inputs,
    write_inventory,
    write_models,
    write_quality,
    write_settings,
    write_unsaid,
)
from mv.claim.material import Material
from mv.claim.money_sheet import MONEY, write_money
from mv.claim.results import BRIDGES
from mv.claim.sheet_writer import Looks, Sheet
from mv.claim.summary_sheet import (
    ANNUAL,
    BRIDGES_SHEET,
    SUMMARY,
    Check,
    energy_checks,
    write_annual,
    write_bridges,
    write_summary,
)

RECOMPUTED = "Every number under 'recomputed here' is a formula; change a day and it follows."


def workbook(material: Material) -> bytes:
    """The workbook's bytes: the same for the same result."""
    import xlsxwriter  # type: ignore[import-untyped, unused-ignore]

    stream = io.BytesIO()
    settings = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "use_future_functions": True,
    }
    with xlsxwriter.Workbook(stream, settings) as book:
        made = datetime.fromisoformat(str(material.result["made_at"])).replace(tzinfo=None)
        book.set_properties({"title": f"Verified savings: {material.study.site.name}", "created": made})
        book.set_calc_mode("auto")
        _write(book, material)
    return stream.getvalue()


def _write(book: Any, material: Material) -> None:
    looks = Looks.of(book)
    site = material.study.site.name
    summary = Sheet(book, looks, SUMMARY, heading=f"Verified savings: {site}", note=RECOMPUTED)
    monthly = Sheet(book, looks, MONTHLY, heading="Month by month", note="Sums over the sheet Daily.")
    by_meter = Sheet(book, looks, BY_METER, heading="By meter", note="Sums over the sheet Daily.")
    daily = Sheet(
        book,
        looks,
        DAILY,
        heading="Every day of the reporting period",
        note="Measured and modelled kWh stand apart. Expected: the baseline model at that day's conditions.",
    )
    table = daily_rows(material)
    last = write_daily(daily, table)
    meter_total = write_by_meter(by_meter, material, last)
    month_total = write_monthly(monthly, material, last)
    checks = energy_checks(material, meter_total, month_total) + _annual_and_money(book, looks, material)
    write_summary(summary, checks, _given(material))
    _lists(book, looks, material)


def _annual_and_money(book: Any, looks: Looks, material: Material) -> list[Check]:
    annual = Sheet(
        book,
        looks,
        ANNUAL,
        heading="Saving in a typical year",
        note="Each meter's number comes from its two models at the same 365 days.",
    )
    checks = write_annual(annual, material)
    bridges = Sheet(book, looks, BRIDGES_SHEET, heading="From total to total, step by step")
    checks += write_bridges(bridges, material, BRIDGES)
    money = Sheet(
        book, looks, MONEY, heading=f"Money, {material.currency}", note="Prices and cost as stated."
    )
    total = next((check.formula[1:] for check in checks if check.name == "saving in a typical year"), None)
    return checks + write_money(money, material, total)


def _given(material: Material) -> list[tuple[str, str, float]]:
    """The intervals and what comes straight from the models."""
    listed = []
    for name, key, unit in (
        ("avoided in the reporting period", "avoided_kwh", "kWh"),
        ("saving in a typical year", "normalised_annual_kwh", "kWh"),
        ("mean reduction in the peak window", "peak_kw", "kW"),
    ):
        found = estimate(material.result, "savings", key) or {}
        ends = ("estimate", "low", "high") if unit == "kW" else ("low", "high")
        listed += [(f"{name}, {end}", unit, float(found[end])) for end in ends if found.get(end) is not None]
    peak = part(material.result, "predicted", "peak_kw")
    return [
        *listed,
        *([("predicted in the peak window (stipulated)", "kW", float(peak))] if peak is not None else []),
    ]


def _lists(book: Any, looks: Looks, material: Material) -> None:
    write_models(Sheet(book, looks, "Models", heading="Models: coefficients, statistics, limits"), material)
    write_quality(Sheet(book, looks, "Data quality", heading="Rows read, used and set aside"), material)
    write_settings(Sheet(book, looks, "Settings", heading="Settings: agreed and seen"), material)
    write_findings(Sheet(book, looks, "Findings", heading="What changed after hand-over"), material)
    if material.spaces:
        note = "As stated in the inventory: none of it is measured."
        write_inventory(Sheet(book, looks, "Inventory", heading="Fixtures, stipulated", note=note), material)
    write_checklist(Sheet(book, looks, "Checklist", heading="Contents and completeness"), material)
    write_unsaid(Sheet(book, looks, "Cannot say", heading="What cannot be said, and why"), material)
    write_inputs(Sheet(book, looks, "Inputs", heading="Input files and fingerprints"), material)

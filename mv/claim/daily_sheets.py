"""The daily sheet, and the sums over it by meter and by month as live formulas."""

from collections.abc import Sequence

import pandas as pd

from mv.claim.energy_account import MeterAccount, MonthAccount, accounts, counted_days, monthly_accounts
from mv.claim.material import Material
from mv.claim.sheet_writer import Sheet, address, span

HEAD_ROW, FIRST = 3, 4
DAILY, BY_METER, MONTHLY = "Daily", "By meter", "Monthly"
# Columns of the daily sheet
DAY, MONTH, METER, COUNTED, WHY, METERED, STAND_IN, EXPECTED, AVOIDED = range(9)
# Columns of the two sheets of sums
KEY, DAYS, SUM_METERED, SUM_STAND_IN, ADJUSTED, SUM_EXPECTED, SUM_AVOIDED, LOW, HIGH = range(9)


def daily_rows(material: Material) -> pd.DataFrame:
    """Every reporting day of every meter that has an avoided energy."""
    tables = [counted_days(material, item.meter) for item in accounts(material)]
    columns = ["day", "meter", "counted", "why_not", "actual_kwh", "reporting_model_kwh", "expected_kwh"]
    return pd.concat(tables, ignore_index=True)[columns] if tables else pd.DataFrame(columns=columns)


def write_daily(sheet: Sheet, table: pd.DataFrame) -> int:
    """Write the days; returns the last row. Measured and modelled kWh have columns of their own."""
    titles = [
        "day",
        "month",
        "meter",
        ">counted",
        "why not counted",
        ">metered, kWh (measured)",
        ">stand-in, kWh (modelled)",
        ">expected, kWh (modelled)",
        ">avoided, kWh",
    ]
    sheet.head(HEAD_ROW, titles, [11, 9, 14, 8, 26, 13, 13, 13, 13])
    for place, day in enumerate(table.to_dict("records")):
        row, counted = FIRST + place, bool(day["counted"])
        metered, model, expected = (
            None if pd.isna(day[name]) else float(day[name])
            for name in ("actual_kwh", "reporting_model_kwh", "expected_kwh")
        )
        stand_in = model if metered is None and counted else None
        sheet.text(row, DAY, day["day"].strftime("%Y-%m-%d"))
        sheet.text(row, MONTH, day["day"].strftime("%Y-%m"))
        sheet.text(row, METER, day["meter"])
        sheet.number(row, COUNTED, float(counted), sheet.looks.whole)
        sheet.text(row, WHY, day["why_not"])
        sheet.number(row, METERED, metered)
        sheet.number(row, STAND_IN, stand_in)
        sheet.number(row, EXPECTED, expected)
        cells = [address(row, column, fixed=False) for column in (COUNTED, EXPECTED, METERED, STAND_IN)]
        value = (expected or 0.0) - (metered or 0.0) - (stand_in or 0.0) if counted else 0.0
        sheet.formula(row, AVOIDED, "={}*(N({})-N({})-N({}))".format(*cells), value)
    last = FIRST + max(len(table), 1) - 1
    sheet.page.autofilter(HEAD_ROW, 0, last, AVOIDED)
    return last


def write_by_meter(sheet: Sheet, material: Material, last: int) -> int:
    """A row a meter, sums over the daily sheet; returns the row of the total."""
    _sum_head(sheet, "meter")
    return _write_sums(sheet, METER, last, [(item.meter, item) for item in accounts(material)])


def write_monthly(sheet: Sheet, material: Material, last: int) -> int:
    """A row a month, sums over the daily sheet; returns the row of the total."""
    _sum_head(sheet, "month")
    return _write_sums(sheet, MONTH, last, [(item.month, item) for item in monthly_accounts(material)])


def _write_sums(
    sheet: Sheet, by: int, last: int, found: Sequence[tuple[str, MeterAccount | MonthAccount]]
) -> int:
    """A row an account, summed over the daily rows whose column `by` holds its name; then the total."""
    for place, (name, item) in enumerate(found):
        row = FIRST + place
        sheet.text(row, KEY, name)
        _sums(sheet, row, by, last, _values(item))
        sheet.number(row, ADJUSTED, item.adjusted)
        _avoided(sheet, row, item.expected - item.metered - item.stand_in - item.adjusted)
        _ends(sheet, row, item.avoided)
    return _total(
        sheet,
        FIRST + len(found),
        _summed([_values(item) for _, item in found]),
        sum(item.adjusted for _, item in found),
    )


def _sum_head(sheet: Sheet, key: str) -> None:
    titles = [
        key,
        ">days counted",
        ">metered, kWh (measured)",
        ">stand-in, kWh (modelled)",
        ">events, kWh (adjusted)",
        ">expected, kWh (modelled)",
        ">avoided, kWh",
        ">low, kWh",
        ">high, kWh",
    ]
    sheet.head(HEAD_ROW, titles, [14, 9, 14, 14, 14, 14, 14, 12, 12])


def _values(item: MeterAccount | MonthAccount) -> tuple[float, float, float, float]:
    return float(item.days), item.metered, item.stand_in, item.expected


def _summed(values: list[tuple[float, float, float, float]]) -> tuple[float, float, float, float]:
    days, metered, stand_in, expected = (
        (sum(column) for column in zip(*values, strict=True)) if values else (0.0,) * 4
    )
    return days, metered, stand_in, expected


def _sums(
    sheet: Sheet, row: int, key_column: int, last: int, values: tuple[float, float, float, float]
) -> None:
    """Sums over the counted days of the daily sheet; EXACT: names may hold wildcards or differ in case."""
    keys, counted = span(FIRST, last, key_column, sheet=DAILY), span(FIRST, last, COUNTED, sheet=DAILY)
    chosen = f"EXACT({keys},{address(row, KEY, fixed=False)})*({counted}=1)"
    sheet.formula(row, DAYS, f"=SUMPRODUCT({chosen})", values[0], sheet.looks.whole)
    columns = ((SUM_METERED, METERED), (SUM_STAND_IN, STAND_IN), (SUM_EXPECTED, EXPECTED))
    for (column, source), value in zip(columns, values[1:], strict=True):
        summed = span(FIRST, last, source, sheet=DAILY)
        sheet.formula(row, column, f"=SUMPRODUCT({chosen}*{summed})", value)


def _avoided(sheet: Sheet, row: int, value: float, look: object = None) -> None:
    cells = [address(row, c, fixed=False) for c in (SUM_EXPECTED, SUM_METERED, SUM_STAND_IN, ADJUSTED)]
    sheet.formula(row, SUM_AVOIDED, "={}-{}-{}-{}".format(*cells), value, look)


def _ends(sheet: Sheet, row: int, avoided: object) -> None:
    """The interval's ends: from the models, not recomputed in a spreadsheet."""
    if isinstance(avoided, dict):
        sheet.number(row, LOW, avoided.get("low"))
        sheet.number(row, HIGH, avoided.get("high"))


def _total(sheet: Sheet, row: int, values: tuple[float, float, float, float], adjusted: float) -> int:
    sheet.text(row, KEY, "all", sheet.looks.total)
    parts = {
        DAYS: values[0],
        SUM_METERED: values[1],
        SUM_STAND_IN: values[2],
        ADJUSTED: adjusted,
        SUM_EXPECTED: values[3],
        SUM_AVOIDED: values[3] - values[1] - values[2] - adjusted,
    }
    for column, value in parts.items():
        look = sheet.looks.total if column == DAYS else sheet.looks.total_exact
        first = address(FIRST, column, fixed=False)
        above = f"{first}:{address(max(row - 1, FIRST), column, fixed=False)}"
        sheet.formula(row, column, f"=SUM({above})" if row > FIRST else "=0", value, look)
    return row

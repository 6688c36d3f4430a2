"""The money sheet: stated prices, and amounts by formula where one price and one rate decide."""

from dataclasses import dataclass

from mv.base.result_parts import estimate, part
from mv.claim.material import Json, Material
from mv.claim.sheet_writer import Sheet, address
from mv.claim.summary_sheet import FIRST, HEAD_ROW, Check

MONEY = "Money"
PRICE, RATE, CAP, COST = range(4)  # rows of the stated values, from FIRST
STATED_ROWS = 4
AMOUNTS = FIRST + STATED_ROWS + 1


@dataclass(frozen=True, slots=True)
class _Amount:
    """One amount: its name, unit, key under `money`, and its formula where it has one."""

    name: str
    unit: str
    key: str
    formula: str | None


def write_money(sheet: Sheet, material: Material, annual_cell: str | None) -> list[Check]:
    """Prices as stated; `annual_cell` holds the yearly saving. Returns the checks of what is recomputed."""
    sheet.head(HEAD_ROW, ["item", ">value", ">low", ">high", "source or formula"], [46, 16, 14, 14, 60])
    stated = _stated(material)
    for row, (name, value, source) in enumerate(stated, FIRST):
        sheet.text(row, 0, name)
        sheet.number(row, 1, value)
        sheet.text(row, 4, source)
    known = [value is not None for _, value, _ in stated]
    amounts = _amounts(material, annual_cell, known) if annual_cell else _plain(material)
    checks = []
    for row, item in enumerate(amounts, AMOUNTS):
        found = estimate(material.result, "money", item.key)
        _write(sheet, row, item, found)
        if item.formula and found is not None:
            there = address(row, 1, sheet=MONEY)
            checks.append(Check(item.name, item.unit, f"={there}", float(found["estimate"])))
    return checks


def _stated(material: Material) -> list[tuple[str, float | None, str | None]]:
    tariff, incentive = material.study.tariff, material.study.incentive
    price = tariff.energy_per_kwh
    return [
        (
            "marginal price a kWh (stipulated)",
            float(price) if isinstance(price, int | float) else None,
            tariff.source,
        ),
        ("incentive a kWh and year (stipulated)", incentive.per_kwh, incentive.source),
        ("cap, share of the cost (stipulated)", incentive.cap_fraction_of_cost, incentive.source),
        ("project cost (stipulated)", incentive.project_cost, "invoices"),
    ]


def _amounts(material: Material, annual: str, known: list[bool]) -> list[_Amount]:
    """Formulas where the rules are those of single numbers; else the result's amounts stand alone."""
    price, rate, cap, cost = (address(FIRST + row, 1) for row in range(STATED_ROWS))
    incentive, money = material.study.incentive, part(material.result, "money") or {}
    simple_rate = incentive.per_kw is None and not incentive.tiers and incentive.cap_amount is None
    limit = f",{cap}*{cost}" if known[CAP] and known[COST] else ""
    paid = f"=MAX(0,MIN({annual}*{rate}{limit}))" if known[RATE] and simple_rate else None
    bill_row, paid_row = address(AMOUNTS, 1), address(AMOUNTS + 1, 1)
    whole_bill = known[PRICE] and known[COST] and money.get("bill_savings_demand") is None
    net = f"MAX(0,{cost}-{paid_row})" if money.get("simple_payback_counts_incentive") else cost
    currency = material.currency
    return [
        _Amount("bill saving a year for energy", currency, "bill_savings_energy",
                f"={annual}*{price}" if known[PRICE] else None),
        _Amount("incentive", currency, "incentive", paid),
        _Amount("simple payback, as the result counts it", "years", "simple_payback",
                f"={net}/{bill_row}" if whole_bill else None),
        _Amount("simple payback without incentive", "years", "simple_payback_without_incentive",
                f"={cost}/{bill_row}" if whole_bill else None),
    ]  # fmt: skip


def _plain(material: Material) -> list[_Amount]:
    names = (("bill saving a year for energy", "bill_savings_energy"), ("incentive", "incentive"))
    return [_Amount(name, material.currency, key, None) for name, key in names]


def _write(sheet: Sheet, row: int, item: _Amount, found: Json | None) -> None:
    sheet.text(row, 0, f"{item.name}, {item.unit}")
    if found is None:
        sheet.text(row, 4, "cannot be told, or not asked")
        return
    if item.formula:
        sheet.formula(row, 1, item.formula, float(found["estimate"]))
        sheet.text(row, 4, "recomputed here")
    else:
        sheet.number(row, 1, float(found["estimate"]))
        sheet.text(row, 4, "from result.json: the tariff or the rule has more than one price")
    sheet.number(row, 2, found.get("low"))
    sheet.number(row, 3, found.get("high"))

"""Part I: what it is worth, at the prices and rates that the study states."""

from mv.base import wording
from mv.base.document import Block, Prose, Section, grid
from mv.base.result_parts import estimate, part
from mv.claim.cells import NONE, interval, said
from mv.claim.material import Material

LINES = (
    ("bill saving a year", "bill_savings", "money"),
    ("of it for energy", "bill_savings_energy", "money"),
    ("of it for demand", "bill_savings_demand", "money"),
    ("at the blended price, for comparison", "bill_savings_at_blended_rate", "money"),
    ("incentive on the verified result", "incentive", "money"),
    ("of it for energy", "incentive_energy", "money"),
    ("of it for demand", "incentive_demand", "money"),
    ("simple payback with the incentive", "simple_payback", "years"),
    ("simple payback without it", "simple_payback_without_incentive", "years"),
    ("greenhouse gas spared a year, kg CO2e", "carbon_kg", "kg"),
)


def money(material: Material) -> Section:
    """I: stated prices and costs, and the amounts that follow from the verified saving."""
    return Section("Money", (_stated(material), _amounts(material), *_guarantee(material)), letter="I")


def _stated(material: Material) -> Block:
    tariff, incentive = material.study.tariff, material.study.incentive
    price = tariff.energy_per_kwh
    shown = said(price) if isinstance(price, int | float) else _periods(price)
    cost, cap = incentive.project_cost, incentive.cap_fraction_of_cost
    demand = tariff.demand_per_kw_month
    listed = [
        ("marginal price of energy, a kWh", shown, said(tariff.source)),
        ("demand charge, a kW and month", _demand(demand), said(tariff.source)),
        ("incentive, a kWh and year", said(incentive.per_kwh), said(incentive.source)),
        ("incentive, a kW", said(incentive.per_kw), said(incentive.source)),
        (
            "cap, share of the project's cost",
            NONE if cap is None else wording.per_cent(cap),
            said(incentive.source),
        ),
        ("cap, amount", said(incentive.cap_amount), said(incentive.source)),
        ("project cost", NONE if cost is None else wording.number(cost), "invoices, part J"),
    ]
    return grid(
        f"Stated prices, rates and cost, {material.currency} (stipulated)",
        [("item", "left", 2.4), ("stated", "right", 1.6), ("source", "left", 2)],
        [row for row in listed if row[1] != NONE],
    )


def _periods(price: object) -> str:
    entries = price if isinstance(price, tuple) else ()
    return "; ".join(f"{entry.name} {entry.per_kwh:g}" for entry in entries) or NONE


def _demand(price: object) -> str:
    if isinstance(price, tuple):
        return "; ".join(f"{entry.per_kw_month:g} in {len(entry.months)} months" for entry in price)
    return said(price)


def _amounts(material: Material) -> Block:
    listed = []
    for name, key, unit in LINES:
        found = estimate(material.result, "money", key)
        if found is not None:
            listed.append(
                (
                    f"{name}, years" if unit == "years" else name,
                    *interval(found, least=0.1 if unit == "years" else 1.0),
                )
            )
    if not listed:
        return Prose("The study states no prices, so nothing is priced.", "cannot")
    capped = "The cap holds the incentive down." if part(material.result, "money", "incentive_capped") else ""
    return grid(
        f"What follows from the verified saving, {material.currency}",
        [("amount", "left", 3), ("best estimate", "right", 1), ("low", "right", 1), ("high", "right", 1)],
        listed,
        note=f"Intervals are those of the saving; prices and costs are taken as exact. {capped}".strip(),
    )


def _guarantee(material: Material) -> tuple[Block, ...]:
    found = part(material.result, "money", "guarantee")
    if not found:
        return ()
    promised = material.study.guarantee
    amount = (
        f"{wording.number(promised.annual_kwh)} kWh a year"
        if promised.annual_kwh is not None
        else f"{wording.number(promised.annual_amount or 0)} {material.currency} a year"
    )
    short = estimate(found, "shortfall_amount")
    cost = f" Shortfall: {wording.with_interval(short, material.currency)}." if short else ""
    return (
        Prose(f"Agreed with the contractor: {amount}; by the verified interval: {found['verdict']}.{cost}"),
    )

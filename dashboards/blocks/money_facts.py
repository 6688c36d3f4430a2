"""Money as facts: each amount with its unit and interval, at the prices written in the study."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.blocks.notes import facts, nested, spaced
from mv.figures import part, with_interval

# key of result["money"] -> what it is called, its unit ("money" = the study's currency)
NAMES = {
    "bill_savings": ("Bill saving in a typical year", "money"),
    "bill_savings_energy": ("of which energy", "money"),
    "bill_savings_demand": ("of which demand", "money"),
    "bill_savings_at_blended_rate": ("At the bill's average price", "money"),
    "incentive": ("Incentive", "money"),
    "incentive_energy": ("of which for energy", "money"),
    "incentive_demand": ("of which for demand", "money"),
    "incentive_cap": ("Cap on the incentive", "money"),
    "simple_payback": ("Simple payback", "years"),
    "simple_payback_without_incentive": ("Simple payback without the incentive", "years"),
    "carbon_kg": ("Carbon dioxide spared in a typical year", "kg"),
    "price_source": ("Source of the prices", ""),
    "incentive_source": ("Source of the incentive's terms", ""),
}
SILENT = ("currency", "simple_payback_counts_incentive")


def money_facts(result: Mapping[str, Any]) -> html.Section | None:
    """What the saving is worth; None where the study holds no price."""
    money = part(result, "money")
    if not isinstance(money, Mapping):
        return None
    currency = str(money.get("currency") or "")
    pairs = [
        (name, _shown(money[key], unit, currency)) for key, (name, unit) in NAMES.items() if key in money
    ]
    known = {*NAMES, *SILENT}
    pairs += [(spaced(key), _shown(value, "", currency)) for key, value in money.items() if key not in known]
    pairs = [(name, shown) for name, shown in pairs if shown is not None]
    if not pairs:
        return None
    note = html.P("At the prices written in the study; other prices give other amounts.", className="muted")
    return html.Section([html.H2("What it is worth"), note, facts(pairs)], className="card wide")


def _shown(value: Any, unit: str, currency: str) -> Any:
    told = currency if unit == "money" else unit
    if value is None or value is False:
        return None
    if isinstance(value, Mapping) and "estimate" in value:
        return with_interval(value, told)
    shown = nested(value, unit=told)
    return f"{shown} {told}" if told and isinstance(shown, str) else shown

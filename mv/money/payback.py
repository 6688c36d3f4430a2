"""Simple payback and what falls short of a guarantee."""

from dataclasses import dataclass
from typing import Literal

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.programme_records import Guarantee


def simple_payback_years(
    project_cost: float | None, annual_saving: Answer, *, incentive: Answer | None = None
) -> Answer:
    """Years = (cost - incentive) / annual saving; no interest, no price rise, no upkeep.

    Textbook definition. The interval pairs the dearest end (low saving, low incentive) and the
    cheapest. CannotSay where the saving's interval reaches zero: it has no upper bound then.
    """
    what = "simple payback"
    if project_cost is None:
        return CannotSay(what, "the study states no project_cost under [incentive]")
    if isinstance(annual_saving, CannotSay):
        return CannotSay(what, annual_saving.why)
    if isinstance(incentive, CannotSay):
        return CannotSay(what, incentive.why)
    low, high = _ends(annual_saving)
    if low <= 0:
        return CannotSay(what, "the annual saving is not told apart from none")
    spared = incentive or Estimate(0.0, 0.0, 0.0, annual_saving.confidence)
    spared_low, spared_high = _ends(spared)
    years = [
        max(0.0, project_cost - paid) / saved
        for paid, saved in (
            (float(spared.estimate), float(annual_saving.estimate)),
            (spared_high, high),
            (spared_low, low),
        )
    ]
    return Estimate(years[0], years[1], years[2], annual_saving.confidence)


@dataclass(frozen=True, slots=True)
class Shortfall:
    """What is missing from a guarantee, never below zero; `verdict` reads the interval."""

    kwh: Answer | None
    amount: Answer
    verdict: Literal["met", "missed", "cannot tell"]
    source: str | None


def guarantee_shortfall(
    guarantee: Guarantee,
    *,
    annual_kwh: Answer,
    bill_saving: Answer,
    price_per_kwh: float | None,
) -> Shortfall | None:
    """Guaranteed less verified, in kWh and in money at the agreed price; None without guarantee.

    A guarantee in kWh is priced at its own price, else at `price_per_kwh` (the tariff's single
    marginal price, None where it has several). One in money is set against the bill saving.
    """
    if guarantee.annual_kwh is None and guarantee.annual_amount is None:
        return None
    if guarantee.annual_kwh is not None:
        missing = _missing(guarantee.annual_kwh, annual_kwh, "guarantee shortfall")
        price = guarantee.price_per_kwh if guarantee.price_per_kwh is not None else price_per_kwh
        amount = _priced(missing, price)
        verdict = _verdict(guarantee.annual_kwh, annual_kwh)
        return Shortfall(missing, amount, verdict, guarantee.source)
    promised = guarantee.annual_amount or 0.0
    amount = _missing(promised, bill_saving, "guarantee shortfall")
    return Shortfall(None, amount, _verdict(promised, bill_saving), guarantee.source)


def _missing(promised: float, verified: Answer, what: str) -> Answer:
    if isinstance(verified, CannotSay):
        return CannotSay(what, verified.why)
    low, high = _ends(verified)
    estimate = max(0.0, promised - float(verified.estimate))
    return Estimate(estimate, max(0.0, promised - high), max(0.0, promised - low), verified.confidence)


def _priced(missing: Answer, price: float | None) -> Answer:
    if price is None:
        why = "the study states no single price per kWh under [guarantee] or [tariff]"
        return CannotSay("guarantee shortfall in money", why)
    return missing if isinstance(missing, CannotSay) else missing.scaled(price)


def _verdict(promised: float, verified: Answer) -> Literal["met", "missed", "cannot tell"]:
    if isinstance(verified, CannotSay):
        return "cannot tell"
    low, high = _ends(verified)
    if low >= promised:
        return "met"
    return "missed" if high < promised else "cannot tell"


def _ends(answer: Estimate) -> tuple[float, float]:
    """The interval's ends; the estimate itself where it has none."""
    low = float(answer.estimate) if answer.low is None else answer.low
    high = float(answer.estimate) if answer.high is None else answer.high
    return low, high

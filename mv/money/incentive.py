"""What the programme pays: rates per kWh and kW, the tier that the user states, and caps."""

from dataclasses import dataclass

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.programme_records import Incentive


@dataclass(frozen=True, slots=True)
class IncentiveAmount:
    """The payment, its parts before caps, and the cap that bites (None where none does)."""

    amount: Answer
    for_energy: Answer | None
    for_demand: Answer | None
    cap: float | None
    capped: bool
    tier: str | None
    source: str | None


@dataclass(frozen=True, slots=True)
class _Rates:
    per_kwh: float | None
    per_kw: float | None
    source: str | None


def incentive_amount(incentive: Incentive, *, annual_kwh: Answer, peak_kw: Answer) -> IncentiveAmount:
    """min(per_kwh x kWh + per_kw x kW, caps), never below zero.

    Rates and caps are the user's; the tier's rates go before the table's own. The interval runs
    from both low ends to both high ends, so it is on the wide side where kWh and kW are told
    apart.
    """
    rates = _rates(incentive)
    energy = _part("incentive for energy", annual_kwh, rates.per_kwh)
    demand = _part("incentive for peak kW", peak_kw, rates.per_kw)
    cap = _cap(incentive)
    amount, capped = _paid(energy, demand, cap)
    limit = None if isinstance(cap, CannotSay) else cap
    return IncentiveAmount(amount, energy, demand, limit, capped, incentive.tier, rates.source)


def _rates(incentive: Incentive) -> _Rates:
    for tier in incentive.tiers:
        if tier.name == incentive.tier:
            return _Rates(
                incentive.per_kwh if tier.per_kwh is None else tier.per_kwh,
                incentive.per_kw if tier.per_kw is None else tier.per_kw,
                tier.source or incentive.source,
            )
    return _Rates(incentive.per_kwh, incentive.per_kw, incentive.source)


def _part(what: str, quantity: Answer, rate: float | None) -> Answer | None:
    if rate is None:
        return None
    return CannotSay(what, quantity.why) if isinstance(quantity, CannotSay) else quantity.scaled(rate)


def _cap(incentive: Incentive) -> float | CannotSay | None:
    caps = [] if incentive.cap_amount is None else [incentive.cap_amount]
    if incentive.cap_fraction_of_cost is not None:
        if incentive.project_cost is None:
            why = "cap_fraction_of_cost is stated without project_cost under [incentive]"
            return CannotSay("incentive", why)
        caps.append(incentive.cap_fraction_of_cost * incentive.project_cost)
    return min(caps, default=None)


def _paid(energy: Answer | None, demand: Answer | None, cap: float | CannotSay | None) -> tuple[Answer, bool]:
    parts = [part for part in (energy, demand) if part is not None]
    if not parts:
        why = "the study states neither per_kwh nor per_kw under [incentive]"
        return CannotSay("incentive", why), False
    unknown = next((part for part in (*parts, cap) if isinstance(part, CannotSay)), None)
    if unknown is not None:
        return CannotSay("incentive", unknown.why), False
    known = [part for part in parts if isinstance(part, Estimate)]
    most = cap if isinstance(cap, float | int) else float("inf")
    sums = (
        sum(float(part.estimate) for part in known),
        sum(float(part.estimate) if part.low is None else part.low for part in known),
        sum(float(part.estimate) if part.high is None else part.high for part in known),
    )
    amount, low, high = (min(max(value, 0.0), most) for value in sums)
    return Estimate(amount, low, high, known[0].confidence), sums[0] > most

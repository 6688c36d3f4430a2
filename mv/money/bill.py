"""What the energy bill falls by in a year."""

from dataclasses import dataclass

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.programme_records import Tariff
from mv.money.combine import sum_of_answers
from mv.money.demand import MonthlyDemand, demand_saving
from mv.money.valued import AvoidedProfile, valued


@dataclass(frozen=True, slots=True)
class BillSavings:
    """A year's saving on the bill. `total` is energy plus demand as far as both can be told.

    `at_blended_rate` is the same kWh at the bill's average price, beside the marginal one; None
    where no such price is stated.
    """

    currency: str
    energy: Answer
    demand: Answer | None
    total: Answer
    at_blended_rate: Answer | None
    source: str | None


def bill_savings(
    avoided_kwh: Answer,
    tariff: Tariff,
    *,
    profile: AvoidedProfile | None = None,
    demand: MonthlyDemand | None = None,
) -> BillSavings:
    """Price a year's avoided kWh, and the demand charges where the tariff has them.

    `avoided_kwh` is a year's figure. A demand charge that cannot be told leaves the total as the
    energy alone, and stays in `demand` with its reason.
    """
    energy = valued(
        avoided_kwh,
        tariff.energy_per_kwh,
        profile,
        what="energy bill saving",
        missing="the study states no energy_per_kwh under [tariff]",
    )
    blended = None
    if tariff.blended_per_kwh is not None:
        blended = valued(
            avoided_kwh,
            tariff.blended_per_kwh,
            None,
            what="saving at the blended rate",
            missing="",
        )
    confidence = avoided_kwh.confidence if isinstance(avoided_kwh, Estimate) else 0.90
    charge = demand_saving(demand, tariff, confidence=confidence)
    total = energy
    if isinstance(charge, Estimate) and isinstance(energy, Estimate):
        total = sum_of_answers([energy, charge])
    if isinstance(energy, CannotSay):
        total = CannotSay("bill savings", energy.why)
    return BillSavings(tariff.currency, energy, charge, total, blended, tariff.source)

"""The whole money account of a study in one record, as result.json carries it."""

from dataclasses import dataclass
from typing import Any

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.study_records import Study
from mv.money.bill import BillSavings, bill_savings
from mv.money.carbon import carbon_spared_kg
from mv.money.demand import MonthlyDemand
from mv.money.incentive import IncentiveAmount, incentive_amount
from mv.money.payback import Shortfall, guarantee_shortfall, simple_payback_years
from mv.money.valued import AvoidedProfile


@dataclass(frozen=True, slots=True)
class MoneyAccount:
    """A year's money: every price is the user's, and each answer says what it lacks.

    `simple_payback` counts the incentive where there is one.
    """

    bill: BillSavings
    incentive: IncentiveAmount
    payback_with_incentive: Answer
    payback_without_incentive: Answer
    shortfall: Shortfall | None
    carbon_kg: Answer | None

    @property
    def cannot_say(self) -> tuple[CannotSay, ...]:
        """What the study's prices or the data do not support."""
        answers = (
            self.bill.total,
            self.bill.demand,
            self.incentive.amount,
            self.simple_payback,
            None if self.shortfall is None else self.shortfall.amount,
            self.carbon_kg,
        )
        return tuple(answer for answer in answers if isinstance(answer, CannotSay))

    @property
    def simple_payback(self) -> Answer:
        """Years, with the incentive where it can be told, else without."""
        if isinstance(self.payback_with_incentive, Estimate):
            return self.payback_with_incentive
        return self.payback_without_incentive

    def as_json(self) -> dict[str, Any]:
        """The `money` object of result.json; an answer that cannot be given is null."""
        counted = isinstance(self.payback_with_incentive, Estimate)
        return {
            "currency": self.bill.currency,
            "bill_savings": _json(self.bill.total),
            "bill_savings_energy": _json(self.bill.energy),
            "bill_savings_demand": _json(self.bill.demand),
            "bill_savings_at_blended_rate": _json(self.bill.at_blended_rate),
            "price_source": self.bill.source,
            "incentive": _json(self.incentive.amount),
            "incentive_energy": _json(self.incentive.for_energy),
            "incentive_demand": _json(self.incentive.for_demand),
            "incentive_cap": self.incentive.cap,
            "incentive_capped": self.incentive.capped,
            "incentive_tier": self.incentive.tier,
            "incentive_source": self.incentive.source,
            "simple_payback": _json(self.simple_payback),
            "simple_payback_counts_incentive": counted,
            "simple_payback_without_incentive": _json(self.payback_without_incentive),
            "guarantee": _guarantee_json(self.shortfall),
            "carbon_kg": _json(self.carbon_kg),
        }


def money_account(
    study: Study,
    *,
    annual_kwh: Answer,
    peak_kw: Answer,
    profile: AvoidedProfile | None = None,
    demand: MonthlyDemand | None = None,
) -> MoneyAccount:
    """Price a year's verified saving by the study's tariff, incentive, guarantee and carbon.

    `profile` says when the energy was avoided, for prices that change; `demand` the monthly
    highest kW, for demand charges.
    """
    bill = bill_savings(annual_kwh, study.tariff, profile=profile, demand=demand)
    paid = incentive_amount(study.incentive, annual_kwh=annual_kwh, peak_kw=peak_kw)
    cost = study.incentive.project_cost
    price = study.tariff.energy_per_kwh
    carbon = None
    if study.carbon.kg_per_kwh is not None:
        carbon = carbon_spared_kg(annual_kwh, study.carbon, profile=profile)
    return MoneyAccount(
        bill=bill,
        incentive=paid,
        payback_with_incentive=simple_payback_years(cost, bill.total, incentive=paid.amount),
        payback_without_incentive=simple_payback_years(cost, bill.total),
        shortfall=guarantee_shortfall(
            study.guarantee,
            annual_kwh=annual_kwh,
            bill_saving=bill.total,
            price_per_kwh=float(price) if isinstance(price, int | float) else None,
        ),
        carbon_kg=carbon,
    )


def _json(answer: Answer | None) -> dict[str, Any] | None:
    return answer.as_json() if isinstance(answer, Estimate) else None


def _guarantee_json(shortfall: Shortfall | None) -> dict[str, Any] | None:
    if shortfall is None:
        return None
    return {
        "verdict": shortfall.verdict,
        "shortfall_kwh": _json(shortfall.kwh),
        "shortfall_amount": _json(shortfall.amount),
        "source": shortfall.source,
    }

"""What a verified saving is worth, by the user's own prices, rates and factors."""

from mv.money.account import MoneyAccount, money_account
from mv.money.bill import BillSavings, bill_savings
from mv.money.carbon import carbon_spared_kg
from mv.money.demand import MonthlyDemand, billed_demand_kw, demand_saving, monthly_peak_kw
from mv.money.incentive import IncentiveAmount, incentive_amount
from mv.money.payback import Shortfall, guarantee_shortfall, simple_payback_years
from mv.money.price_table import rate_of_each
from mv.money.valued import AvoidedProfile, valued

__all__ = [
    "AvoidedProfile",
    "BillSavings",
    "IncentiveAmount",
    "MoneyAccount",
    "MonthlyDemand",
    "Shortfall",
    "bill_savings",
    "billed_demand_kw",
    "carbon_spared_kg",
    "demand_saving",
    "guarantee_shortfall",
    "incentive_amount",
    "money_account",
    "monthly_peak_kw",
    "rate_of_each",
    "simple_payback_years",
    "valued",
]

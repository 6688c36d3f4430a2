"""A claim's contents: report, client's page, completeness check, workbook and evidence."""

from mv.claim.asked_item import Item
from mv.claim.checklist import checklist, missing
from mv.claim.contradictions import contradictions
from mv.claim.energy_account import MeterAccount, MonthAccount, accounts, counted_days, monthly_accounts
from mv.claim.ledger_sheet import ledger_csv
from mv.claim.material import Material, Space
from mv.claim.proof import proof
from mv.claim.report import report
from mv.claim.results import BRIDGES
from mv.claim.sheet_writer import harmless
from mv.claim.workbook import workbook

__all__ = [
    "BRIDGES",
    "Item",
    "Material",
    "MeterAccount",
    "MonthAccount",
    "Space",
    "accounts",
    "checklist",
    "contradictions",
    "counted_days",
    "harmless",
    "ledger_csv",
    "missing",
    "monthly_accounts",
    "proof",
    "report",
    "workbook",
]

"""Everything that a verification found, as records; result.json is made of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from mv.base.estimate import Answer, CannotSay
from mv.base.setting_records import ZoneSettings
from mv.base.study_records import Study
from mv.bridge import Bridge
from mv.drift import DriftFinding
from mv.intake import Intake
from mv.money import MoneyAccount
from mv.peak import LoadDrop
from mv.predicted import InventoryFinding, Prediction
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.peak_savings import PeakAccount


@dataclass(frozen=True)
class Findings:
    """The answers of every stage; totals are over all meters."""

    study: Study
    intake: Intake
    meters: tuple[MeterSavings, ...]
    avoided: Answer
    annual: Answer
    peak_account: PeakAccount
    load_drops: tuple[LoadDrop, ...]
    prediction: Prediction
    inventory_findings: tuple[InventoryFinding, ...]
    realisation: Answer
    settings: tuple[ZoneSettings, ...]
    drift: tuple[DriftFinding, ...]
    promise: Bridge
    measures: Bridge
    money: MoneyAccount

    @property
    def peak(self) -> Answer:
        """Mean reduction over the programme's peak window, kW."""
        return self.peak_account.reduction

    populations: tuple[Mapping[str, Any], ...] = ()
    unwatched: tuple[CannotSay, ...] = ()

"""All that a claim is written from: the verification, prepared charts, the inventory, the papers there."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from mv.base.claim_records import Claim, ControlRecord, Instrument
from mv.base.document import Drawing
from mv.base.result_parts import part, rows
from mv.base.study_records import Study
from mv.base.verification import Verification

Json = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Space:
    """One row of the fixture inventory, as stated: none of it is measured."""

    space: str
    zone: str
    quantity: float
    watts_before: float
    watts_after: float
    hours_per_year: float
    control_saving_fraction: float
    hvac_energy_factor: float = 1.0


@dataclass(frozen=True)
class Material:
    """What the parts of a claim are made of.

    `drawings` are by name: "promise", "months", "running", "steps:<bridge>",
    "residuals:<meter>:<period>", "finding:<id>:<number>".
    `absent` are attachments that the study names and that are not there.
    """

    verification: Verification
    drawings: Mapping[str, Drawing] = field(default_factory=dict)
    spaces: tuple[Space, ...] = ()
    absent: tuple[str, ...] = ()
    software: tuple[tuple[str, str], ...] = ()

    @property
    def result(self) -> Json:
        """What result.json holds."""
        return self.verification.result

    @property
    def study(self) -> Study:
        """The study as it was verified."""
        return self.verification.study

    @property
    def claim(self) -> Claim:
        """[claim] of the study."""
        return self.study.claim

    @property
    def controls(self) -> tuple[ControlRecord, ...]:
        """[[claim.controls]] of zones that the study has."""
        zones = {zone.id for zone in self.study.zone}
        return tuple(entry for entry in self.claim.controls if entry.zone in zones)

    @property
    def instruments(self) -> tuple[Instrument, ...]:
        """[[claim.instrument]] of meters that the study has."""
        meters = {meter.id for meter in self.study.meter}
        return tuple(entry for entry in self.claim.instrument if entry.meter in meters)

    @property
    def currency(self) -> str:
        """The tariff's."""
        return str(part(self.result, "money", "currency") or self.study.tariff.currency)

    @property
    def by_meter(self) -> dict[str, Json]:
        """`savings.by_meter` of the result, in the study's order."""
        known = part(self.result, "savings", "by_meter") or {}
        return {meter.id: known[meter.id] for meter in self.study.meter if meter.id in known}

    def models(self, period: str) -> list[Json]:
        """The models of one period."""
        return [model for model in rows(self.result, "models") if model.get("period") == period]

    def drawn(self, *names: str) -> tuple[Drawing, ...]:
        """Those of the named drawings that are there."""
        return tuple(self.drawings[name] for name in names if name in self.drawings)

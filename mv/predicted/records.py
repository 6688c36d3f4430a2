"""The fixture inventory and what it promises, as frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from mv.base.estimate import CannotSay
from mv.base.ledger import Remark


@dataclass(frozen=True, slots=True)
class InventoryRow:
    """One space of inventory.csv; `line` is its line in the file, the header being line 1.

    Watts are input power per fixture. `hvac_*_factor` multiply the lighting saving (1.10 adds a
    tenth for the cooling spared); 1.0 where the inventory has none. `coincidence_factor` is the
    share of the connected load that burns in the peak window; None where not stated.
    """

    line: int
    space: str
    zone: str
    quantity: float
    watts_before: float
    watts_after: float
    hours_per_year: float
    control_saving_fraction: float
    standby_watts: float = 0.0
    coincidence_factor: float | None = None
    hvac_energy_factor: float = 1.0
    hvac_demand_factor: float = 1.0

    @property
    def connected_kw_before(self) -> float:
        """Connected load before, kW."""
        return self.quantity * self.watts_before / 1000.0

    @property
    def connected_kw_after(self) -> float:
        """Connected load after, kW."""
        return self.quantity * self.watts_after / 1000.0


@dataclass(frozen=True, slots=True)
class Inventory:
    """The rows of one inventory file, and what was noticed while reading it."""

    file: str
    rows: tuple[InventoryRow, ...]
    remarks: tuple[Remark, ...] = ()

    @property
    def zones(self) -> tuple[str, ...]:
        """Zone names in order of first appearance."""
        return tuple(dict.fromkeys(row.zone for row in self.rows))

    def of_zone(self, zone: str) -> tuple[InventoryRow, ...]:
        """The spaces of one zone."""
        return tuple(row for row in self.rows if row.zone == zone)


@dataclass(frozen=True, slots=True)
class InventoryFinding:
    """Something in the inventory that cannot be so or does not fit, and where it stands.

    `lines` are those of the file, the header being line 1; empty where a row is missing.
    """

    code: str
    what: str
    file: str
    lines: tuple[int, ...] = ()
    space: str | None = None
    zone: str | None = None
    remedy: str | None = None

    def as_json(self) -> dict[str, Any]:
        """The entry under `predicted.findings` of result.json."""
        return {
            "code": self.code,
            "what": self.what,
            "file": self.file,
            "lines": list(self.lines),
            "space": self.space,
            "zone": self.zone,
            "remedy": self.remedy,
        }


@dataclass(frozen=True, slots=True)
class PredictedPart:
    """A part of the promised annual saving, kWh; negative where it costs energy."""

    part: str
    kwh: float
    why: str


@dataclass(frozen=True, slots=True)
class RowPrediction:
    """What one row promises a year; `total_kwh` is the sum of the four parts."""

    row: InventoryRow
    fixture_kwh: float
    control_kwh: float
    standby_kwh: float
    hvac_kwh: float
    peak_kw: float | None

    @property
    def total_kwh(self) -> float:
        """Annual saving, HVAC interaction included, kWh."""
        return self.fixture_kwh + self.control_kwh + self.standby_kwh + self.hvac_kwh


@dataclass(frozen=True, slots=True)
class Prediction:
    """The promised saving: annual kWh and, where it can be told, kW in the peak window.

    `rows` and `parts` are empty where only the two numbers were stated. `source` says where the
    figures come from.
    """

    annual_kwh: float | None
    peak_kw: float | None
    source: str
    by_zone: Mapping[str, float] = field(default_factory=dict)
    parts: tuple[PredictedPart, ...] = ()
    rows: tuple[RowPrediction, ...] = ()
    remarks: tuple[Remark, ...] = ()
    cannot_say: tuple[CannotSay, ...] = ()

    def as_json(self) -> dict[str, float | None]:
        """The object that result.json carries under `predicted`."""
        return {"annual_kwh": self.annual_kwh, "peak_kw": self.peak_kw}

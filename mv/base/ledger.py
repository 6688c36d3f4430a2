"""The account of a file's rows: each one read is either used or set aside for a named reason."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Remark:
    """Something seen in a file that a reader of the ledger should know.

    `lines` is where ("lines 120-215"); `code` is a short stable name such as "clock-shifted". `lasting`:
    it was so in both periods alike, so that no change of habit explains it.
    """

    code: str
    what: str
    file: str | None = None
    lines: str | None = None
    remedy: str | None = None
    lasting: bool = False


@dataclass(frozen=True, slots=True)
class FileAccount:
    """One input file's share of the ledger."""

    name: str
    rows_read: int
    rows_used: int
    set_aside: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ledger:
    """One meter's (or log's) account. `rows_read == rows_used + sum(set_aside.values())`.

    `energy_used_kwh` is the energy of the used rows. `set_aside_lines` keeps where the rows stand,
    reason -> compact line ranges by file. Energies are kWh; None for a log that measures no energy.
    """

    meter: str
    rows_read: int
    rows_used: int
    set_aside: Mapping[str, int]
    estimated_rows: int
    energy_read_kwh: float | None
    energy_used_kwh: float | None
    coverage_baseline: float | None
    coverage_reporting: float | None
    inferred: Mapping[str, str]
    remarks: tuple[Remark, ...] = ()
    files: tuple[FileAccount, ...] = ()
    set_aside_lines: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    filled_intervals: int = 0  # short gaps filled here; counted in estimated_rows too
    energy_filled_kwh: float = 0.0  # of the filled intervals; not part of energy_used_kwh

    def __post_init__(self) -> None:
        aside = sum(self.set_aside.values())
        if self.rows_read != self.rows_used + aside:
            raise AssertionError(
                f"ledger of {self.meter}: {self.rows_read} rows read, "
                f"{self.rows_used} used and {aside} set aside do not balance"
            )

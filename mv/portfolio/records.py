"""What a portfolio keeps of one study: small, whole, and enough for every table and total."""

from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import TypeAdapter

from mv.base.estimate import Estimate


@dataclass(frozen=True)
class MeterRecord:
    """One meter of a study. Shares are fractions; `form` is None where there is no baseline model."""

    meter: str
    measures: str
    kind: str
    avoided_kwh: Estimate | None
    annual_kwh: Estimate | None
    rows_read: int
    rows_used: int
    energy_used_kwh: float | None
    coverage_baseline: float | None
    coverage_reporting: float | None
    form: str | None
    n: int | None
    r2: float | None
    cv_rmse: float | None
    lag1_autocorrelation: float | None


@dataclass(frozen=True)
class MeteringClass:
    """A meter accuracy, stated or taken, and what it adds to a study's half-widths, kWh."""

    name: str
    avoided_kwh: float
    annual_kwh: float


@dataclass(frozen=True)
class FindingRecord:
    """Something that changed after hand-over; `cost_per_month` in the study's currency."""

    where: str
    what: str
    since: str | None
    kwh_per_month: Estimate | None
    cost_per_month: float | None
    check_first: str


@dataclass(frozen=True)
class StudyRecord:
    """One verified study.

    `name` is its folder under `studies/`, `path` its study.toml. `key` stands for study, inputs and
    version; `result_sha256`, `series_file` and `series_sha256` say which stored result it belongs to.
    `residuals_kwh` are mean daily baseline residuals by eight-week block (first day). `confidence` is
    that of every estimate.
    """

    name: str
    path: str
    key: str
    result_sha256: str
    series_sha256: str
    series_file: str
    title: str
    site: str
    programme: str | None
    contractor: str | None
    strategies: tuple[str, ...]
    confidence: float
    baseline_first: str
    baseline_last: str
    reporting_first: str
    reporting_last: str
    avoided_kwh: Estimate | None
    annual_kwh: Estimate | None
    peak_kw: Estimate | None
    predicted_annual_kwh: float | None
    predicted_peak_kw: float | None
    realisation_rate: Estimate | None
    bill_savings: Estimate | None
    currency: str | None
    accepted: bool
    why_not: tuple[str, ...]
    settings_kept: int
    settings_moved: int
    settings_unknown: int
    meters: tuple[MeterRecord, ...]
    findings: tuple[FindingRecord, ...]
    metering: tuple[MeteringClass, ...]
    residuals_kwh: Mapping[str, float]


@dataclass(frozen=True)
class BrokenStudy:
    """A study that could not be verified, and why, in the words of its error."""

    name: str
    path: str
    message: str


Outcome = StudyRecord | BrokenStudy
_RECORD: TypeAdapter[StudyRecord] = TypeAdapter(StudyRecord)


def record_text(record: StudyRecord) -> str:
    """The record as it is stored."""
    return _RECORD.dump_json(record, indent=1).decode() + "\n"


def record_of_text(text: str) -> StudyRecord:
    """A stored record. Raises ValueError where the text is not a whole one."""
    return _RECORD.validate_json(text)

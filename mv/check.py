"""Reading and cleaning alone: the ledger of every meter, for people and for machines."""

import json
import textwrap
from dataclasses import dataclass
from pathlib import Path

from mv.base.ledger import Ledger
from mv.cleaning import ledger_as_json
from mv.intake import read_meters
from mv.progress import Step, no_progress
from mv.study import load_study

WIDTH = 100


@dataclass(frozen=True)
class CheckReport:
    """The ledgers of a study's meters, in the study's order."""

    ledgers: tuple[Ledger, ...]

    def as_json(self) -> str:
        """The `cleaning` list of result.json."""
        entries = [ledger_as_json(ledger) for ledger in self.ledgers]
        return json.dumps(entries, indent=1, ensure_ascii=False, allow_nan=False) + "\n"

    def as_text(self) -> str:
        """One block a meter: rows in and out by reason, energy, what was inferred, what stood out."""
        return "\n\n".join("\n".join(_block(ledger)) for ledger in self.ledgers) + "\n"


def check_study(study_or_folder: Path | str, *, step: Step = no_progress) -> CheckReport:
    """Read and clean every meter of a study; needs no periods, zones or prediction."""
    meters = read_meters(load_study(study_or_folder), step)
    return CheckReport(tuple(series.ledger for series in meters.values()))


def _block(ledger: Ledger) -> list[str]:
    lines = [
        f"Meter {ledger.meter}",
        f"  rows read {ledger.rows_read:,} = used {ledger.rows_used:,} "
        f"+ set aside {sum(ledger.set_aside.values()):,}",
    ]
    for reason, count in sorted(ledger.set_aside.items(), key=lambda item: -item[1]):
        lines += _wrapped(f"    {count:,} {reason}", _where(ledger, reason))
    lines.append(f"  estimated readings {ledger.estimated_rows:,}")
    lines.append(f"  energy read {_kwh(ledger.energy_read_kwh)}, used {_kwh(ledger.energy_used_kwh)}")
    if ledger.coverage_baseline is not None and ledger.coverage_reporting is not None:
        lines.append(
            f"  coverage {ledger.coverage_baseline:.1%} of the baseline, "
            f"{ledger.coverage_reporting:.1%} of the reporting period"
        )
    for what, value in ledger.inferred.items():
        lines += _wrapped(f"  inferred {what}:", value)
    for remark in ledger.remarks:
        place = ", ".join(part for part in (remark.file, remark.lines) if part)
        text = f"{remark.what}{f' ({place})' if place else ''}{f' {remark.remedy}' if remark.remedy else ''}"
        lines += _wrapped(f"  remark {remark.code}:", text)
    return lines


def _where(ledger: Ledger, reason: str) -> str:
    places = ledger.set_aside_lines.get(reason, {})
    return "; ".join(f"{file}: lines {lines}" for file, lines in places.items())


def _kwh(value: float | None) -> str:
    return "not known" if value is None else f"{value:,.1f} kWh"


def _wrapped(mark: str, text: str) -> list[str]:
    shortened = text if len(text) <= 600 else text[:599] + "…"
    return textwrap.wrap(f"{mark} {shortened}", WIDTH, subsequent_indent="      ") or [mark]

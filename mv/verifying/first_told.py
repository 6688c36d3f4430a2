"""Each finding as it was first told: what a month once said stays said when the next one is added.

The looks are at the ends of whole months, as a facility manager would have looked. A finding of the
whole period is traced back to the first look that shows it; its date, and the key that notes on it
hold to, are those of that look, whatever later days would make of them.
"""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta

import pandas as pd

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.base.study_records import Span
from mv.drift import DriftFinding

SOONEST_DAYS = 6  # days after a change before it can be told from a few odd days; no source
LOOKS = (0, 1, 2, 3, 5, 8, 11)  # looks after the change that are tried; later ones tell little more
SAME_DAYS = 14  # apart in time up to which two findings are one; common practice, no source

Looked = tuple[tuple[ZoneSettings, ...], tuple[DriftFinding, ...]]
LookUntil = Callable[[date, frozenset[str]], Looked]


def month_ends(reporting: Span) -> list[date]:
    """Last days of the whole months that end before the reporting period does."""
    ends = pd.date_range(reporting.first, reporting.last, freq="ME")
    return [day.date() for day in ends if day.date() < reporting.last]


def as_first_told(
    settings: Sequence[ZoneSettings],
    findings: Sequence[DriftFinding],
    *,
    reporting: Span,
    look_until: LookUntil,
) -> Looked:
    """Findings and settings with the dates under which they were first told."""
    ends = month_ends(reporting)
    early: dict[int, DriftFinding] = {}
    rows: dict[tuple[str, str], SettingFinding] = {}
    for end in ends:
        pending = [f for f in findings if id(f) not in early and _due(f, end, ends)]
        if not pending:
            continue
        then_settings, then = look_until(end, frozenset(zone for f in pending for zone in f.zones))
        for finding in pending:
            found = next((other for other in then if same_finding(finding, other)), None)
            if found is not None:
                early[id(finding)] = replace(found, told=end)
                rows |= {k: row for k, row in _moved(then_settings).items() if k[0] in finding.zones}
    told = tuple(_told(f, early.get(id(f)), reporting.last) for f in findings)
    return tuple(_settings_told(entry, rows) for entry in settings), told


def same_finding(one: DriftFinding, other: DriftFinding) -> bool:
    """True where two looks tell the same thing of the same place."""
    if one.since is None or other.since is None or one.kind != other.kind:
        return False
    same_place = one.where == other.where or bool(set(one.zones) & set(other.zones))
    alike = bool(set(one.settings) & set(other.settings)) or bool(set(one.causes) & set(other.causes))
    near = abs(one.since - other.since) <= timedelta(days=SAME_DAYS)
    return same_place and near and alike and _way(one) * _way(other) >= 0


def key_of(finding: DriftFinding) -> str:
    """A short name that lasts: of the place, the kind and the day on which it was first said to begin."""
    if finding.since is not None:
        parts: tuple[str, ...] = (finding.where, finding.kind, finding.since.isoformat())
    elif finding.settings:
        parts = (finding.where, finding.kind, "from the start")
    else:
        parts = (finding.where, finding.kind, "more" if _way(finding) >= 0 else "less")
    return hashlib.sha256("\n".join(parts).encode("utf-8")).hexdigest()[:8]


def _way(finding: DriftFinding) -> int:
    energy = finding.kwh_per_month
    return 0 if not isinstance(energy, Estimate) else 1 if energy.estimate > 0 else -1


def _due(finding: DriftFinding, end: date, ends: Sequence[date]) -> bool:
    """True where this look is one of those at which the finding may first have been told."""
    if finding.since is None or finding.kind not in ("step", "recurring"):
        return False
    first = finding.since + timedelta(days=SOONEST_DAYS)
    after = [day for day in ends if day >= first]
    return end in after and after.index(end) in LOOKS


def _told(finding: DriftFinding, early: DriftFinding | None, last: date) -> DriftFinding:
    if early is None or finding.since is None or early.since is None:
        return replace(finding, told=last, key=key_of(finding))
    what = finding.what.replace(finding.since.isoformat(), early.since.isoformat())
    return replace(finding, since=early.since, what=what, told=early.told, key=key_of(early))


def _moved(settings: Sequence[ZoneSettings]) -> dict[tuple[str, str], SettingFinding]:
    rows = (row for entry in settings for row in entry.findings)
    return {(row.zone, row.setting): row for row in rows if row.verdict == "moved" and row.since}


def _settings_told(entry: ZoneSettings, rows: dict[tuple[str, str], SettingFinding]) -> ZoneSettings:
    return replace(entry, findings=tuple(_row_told(row, rows) for row in entry.findings))


def _row_told(row: SettingFinding, rows: dict[tuple[str, str], SettingFinding]) -> SettingFinding:
    early = rows.get((row.zone, row.setting))
    if early is None or row.since is None or early.since is None or row.verdict != "moved":
        return row
    if abs(row.since - early.since) > timedelta(days=SAME_DAYS):
        return row
    why = row.why.replace(row.since.isoformat(), early.since.isoformat())
    return replace(row, since=early.since, why=why)

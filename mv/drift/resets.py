"""Many zones that changed at one time: a controller that fell back to its default settings."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.drift.causes import checks, texts
from mv.drift.cusum import plain_cusum
from mv.drift.one_cause import DATED_LATE, LATE_DAYS
from mv.drift.records import DriftFinding

RESET_DAYS = 3  # changes of many zones so close are one reset; common practice, no source
RESET_ZONES = 3  # zones that change together for a reset; of a small site half, two at least; no source


def with_resets(findings: Sequence[DriftFinding], zones: int) -> list[DriftFinding]:
    """The findings, those of many zones at one time joined."""
    needed = min(RESET_ZONES, max(2, (zones + 1) // 2))
    lasting = [f for f in findings if f.kind == "step" and f.since is not None and f.until is None]
    lasting = [f for f in lasting if len(f.zones) >= 1]
    lasting.sort(key=lambda f: (str(f.since), f.where))
    used: set[int] = set()
    joined = []
    for at, first in enumerate(lasting):
        near = [f for f in lasting[at:] if id(f) not in used and _together(first, f)]
        if id(first) not in used and len({f.where for f in near}) >= needed:
            reset = _reset(near)
            used |= {id(f) for f in near}
            late = [f for f in findings if id(f) not in used and _seen_late(reset, f)]
            joined.append(replace(reset, settings=_settings([reset, *late])))
            used |= {id(f) for f in late}
    return [*joined, *(f for f in findings if id(f) not in used)]


def _together(first: DriftFinding, other: DriftFinding) -> bool:
    assert first.since is not None and other.since is not None
    return other.since - first.since <= timedelta(days=RESET_DAYS)


def _seen_late(reset: DriftFinding, other: DriftFinding) -> bool:
    """True where a setting of the reset's zones is read only later, or was read at no earlier time."""
    if not other.settings or other.kind != "step" or other.until is not None or len(other.zones) != 1:
        return False
    if other.zones[0] not in reset.zones or not set(other.settings) <= DATED_LATE:
        return False
    if other.since is None or reset.since is None:
        return True
    return timedelta(0) <= other.since - reset.since <= timedelta(days=LATE_DAYS)


def _settings(parts: Sequence[DriftFinding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for part in parts for name in part.settings))


def _reset(parts: Sequence[DriftFinding]) -> DriftFinding:
    zones = tuple(dict.fromkeys(zone for part in parts for zone in part.zones))
    known = [part.kwh_per_month for part in parts if isinstance(part.kwh_per_month, Estimate)]
    energy: Answer = _sum(known) if known else CannotSay("kWh a month of the reset", "not told by its zones")
    causes = _causes(parts)
    return DriftFinding(
        where=", ".join(dict.fromkeys(part.where for part in parts)),
        what=f"{len({p.where for p in parts})} zones changed together: "
        + "; ".join(f"{part.where}: {part.what}" for part in parts),
        since=min(part.since for part in parts if part.since is not None),
        kwh_per_month=energy,
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="step",
        evidence=_evidence(parts),
        zones=zones,
        settings=_settings(parts),
        causes=causes,
    )


def _causes(parts: Sequence[DriftFinding]) -> tuple[str, ...]:
    """A reset first; where no setting is seen to have moved, what people did may be as likely."""
    own = dict.fromkeys(code for part in parts for code in part.causes[:2])
    people = () if any(part.settings for part in parts) else ("hours changed",)
    return tuple(dict.fromkeys(("controller reset", *people, *own)))


def _sum(parts: Sequence[Estimate]) -> Estimate:
    """Sum of independent estimates: half-widths in quadrature."""
    middle = sum(float(part.estimate) for part in parts)
    halves = [(p.high - p.low) / 2 for p in parts if p.high is not None and p.low is not None]
    half = float(np.sqrt(sum(h * h for h in halves)))
    return Estimate(middle, middle - half, middle + half, parts[0].confidence)


def _evidence(parts: Sequence[DriftFinding]) -> pd.DataFrame | None:
    """The records of all parts added, on the days that each of them has; a record counts once."""
    tables: list[pd.DataFrame] = []
    for part in parts:
        if part.evidence is not None and not any(part.evidence.equals(table) for table in tables):
            tables.append(part.evidence)
    if len(tables) < 2:
        return tables[0] if tables else None
    together = pd.concat([table.set_index("day") for table in tables])
    whole = together.groupby(level=0).sum()[together.groupby(level=0).size() == len(tables)]
    standardised = whole["standardised"] / np.sqrt(len(tables))
    running = plain_cusum(standardised.to_numpy(dtype=np.float64))
    return whole.assign(standardised=standardised, cusum=running).reset_index()

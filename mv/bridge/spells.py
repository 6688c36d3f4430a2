"""The spells of the reporting period between changes of settings, and what held in each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_midnight
from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding, ZoneSettings

FAILED_LAMPS = "lamps_failed"
SHORTEST_SPELL_DAYS = 5
"""Spells shorter than this join the one before. Common practice, no source."""


@dataclass(frozen=True)
class SettingValue:
    """A setting in one spell: value and standard error; None where it was not told."""

    value: float
    error: float


def spell_edges(
    settings: Iterable[ZoneSettings | None], index: pd.DatetimeIndex, timezone: str
) -> tuple[pd.Timestamp, ...]:
    """UTC starts of the spells: the index's first stamp and each dated change within it."""
    changes = sorted(
        {
            local_midnight(finding.since, timezone)
            for zone in settings
            if zone is not None
            for finding in (*zone.findings, *zone.signs)
            if finding.since is not None
        }
    )
    edges = [index[0]]
    shortest = pd.Timedelta(days=SHORTEST_SPELL_DAYS)
    for change in changes:
        if change - edges[-1] >= shortest and index[-1] - change >= shortest:
            edges.append(change)
    return tuple(edges)


def spell_of_each(index: pd.DatetimeIndex, edges: Sequence[pd.Timestamp]) -> npt.NDArray[np.int64]:
    """Number of the spell that each interval belongs to, from 0."""
    starts = pd.DatetimeIndex(list(edges)).as_unit("ns").asi8
    return np.asarray(np.searchsorted(starts, index.as_unit("ns").asi8, side="right") - 1)


def setting_in(
    settings: ZoneSettings | None, setting: str, start: pd.Timestamp, timezone: str
) -> SettingValue | None:
    """The setting in the spell that begins at `start`, as found on the meter; None if not told."""
    finding = find(settings, setting)
    if finding is None:
        return None
    since = finding.since or (finding.earlier and _failed_since(settings))
    if since and finding.earlier is not None and start < local_midnight(since, timezone):
        return as_value(finding.earlier)
    return as_value(finding.observed)


def _failed_since(settings: ZoneSettings | None) -> date | None:
    """The date from which lamps seem to have failed: the full level fell without a dated setting."""
    sign = failed_lamps(settings)
    return None if sign is None else sign.since


def failed_lamps(settings: ZoneSettings | None) -> SettingFinding | None:
    """The sign that the full level fell as failed lamps would make it, or None."""
    if settings is None:
        return None
    return next((sign for sign in settings.signs if sign.setting == FAILED_LAMPS), None)


def find(settings: ZoneSettings | None, setting: str) -> SettingFinding | None:
    """The finding on that setting, or None."""
    if settings is None:
        return None
    return next((f for f in settings.findings if f.setting == setting), None)


def as_value(answer: object) -> SettingValue | None:
    """Value and standard error of an estimate; None for one that cannot be said.

    The error is the interval's half over the normal quantile: intervals may hold more than the
    standard error that some of them carry.
    """
    if not isinstance(answer, Estimate):
        return None
    if answer.low is None or answer.high is None:
        return SettingValue(float(answer.estimate), answer.standard_error or 0.0)
    half = (answer.high - answer.low) / 2.0
    return SettingValue(float(answer.estimate), half / two_sided_normal(answer.confidence))


def two_sided_normal(confidence: float) -> float:
    """Two-sided standard normal quantile: 1.645 at 0.90."""
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2.0))


def since_dates(settings: ZoneSettings | None) -> tuple[date, ...]:
    """Every dated change of a zone."""
    if settings is None:
        return ()
    found = (*settings.findings, *settings.signs)
    return tuple(sorted({f.since for f in found if f.since is not None}))

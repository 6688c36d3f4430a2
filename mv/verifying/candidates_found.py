"""Unexplained stretches of days as result.json lists them, for a person to confirm or leave."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.study_records import Event
from mv.drift import DriftFinding
from mv.regression import EventCandidate, event_candidates
from mv.verifying.meter_savings import MeterSavings

Json = dict[str, Any]


NEAR_DAYS = 14  # between an end of a stretch and a finding's date, for one change (no source)


def event_candidates_of(item: MeterSavings, drift: Sequence[DriftFinding]) -> list[Json]:
    """Both models' candidates, the largest first within each; `known` where an [[event]] overlaps,
    `finding` the id of what changed after hand-over that explains it, else null.

    `kwh` is positive where more was used than the model says; dates are local, both included.
    """
    found = []
    for period, model in (("baseline", item.baseline_model), ("reporting", item.reporting_model)):
        if isinstance(model, CannotSay):
            continue
        for candidate in event_candidates(model, confidence=item.confidence):
            found.append(
                {
                    "meter": item.meter.id,
                    "period": period,
                    "first": f"{candidate.first:%Y-%m-%d}",
                    "last": f"{candidate.last:%Y-%m-%d}",
                    "kwh": candidate.total_kwh.as_json(),
                    "kwh_per_day": candidate.kwh_per_day.as_json(),
                    "lasting": bool(candidate.lasting),
                    "known": _known(item.events, candidate.first, candidate.last),
                    "finding": _finding(item, drift, candidate) if period == "reporting" else None,
                }
            )
    return found


def _finding(item: MeterSavings, drift: Sequence[DriftFinding], candidate: EventCandidate) -> str | None:
    """The finding at whose beginning or end the stretch begins or ends: a model that averages over a
    change lies off it on both sides."""
    own = {item.meter.id, *(zone.id for zone in item.zones)}
    edges = (candidate.first, candidate.last)
    for found in drift:
        dates = [pd.Timestamp(day) for day in (found.since, found.until) if day is not None]
        near = any(abs((edge - day).days) <= NEAR_DAYS for edge in edges for day in dates)
        if near and found.kind != "gap" and own & {found.where, *found.zones}:
            return found.key
    return None


def _known(events: tuple[Event, ...], first: pd.Timestamp, last: pd.Timestamp) -> bool:
    return any(pd.Timestamp(event.first) <= last and first <= pd.Timestamp(event.last) for event in events)

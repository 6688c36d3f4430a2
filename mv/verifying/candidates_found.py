"""Unexplained stretches of days as result.json lists them, for a person to confirm or leave."""

from typing import Any

import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.study_records import Event
from mv.regression import event_candidates
from mv.verifying.meter_savings import MeterSavings

Json = dict[str, Any]


def event_candidates_of(item: MeterSavings) -> list[Json]:
    """Both models' candidates, the largest first within each; `known` where an [[event]] overlaps.

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
                }
            )
    return found


def _known(events: tuple[Event, ...], first: pd.Timestamp, last: pd.Timestamp) -> bool:
    return any(pd.Timestamp(event.first) <= last and first <= pd.Timestamp(event.last) for event in events)

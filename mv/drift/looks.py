"""One series looked at: its expectation, its changes, and the picture that shows them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import pandas as pd

from mv.base.estimate import Estimate
from mv.base.setting_records import ZoneSettings
from mv.drift.agreed import answers_to_sun
from mv.drift.cusum import plain_cusum
from mv.drift.expectation import Design, FloatArray, design
from mv.drift.normal import normal_factor
from mv.drift.records import DriftSeries
from mv.drift.setting_events import SettingEvent
from mv.drift.signature import Signature, signature
from mv.drift.step_search import Search, Step, search

DAYS_A_MONTH = 30.4375  # 365.25 / 12
FEWEST_DAYS = 40  # usable days for an expectation of its own; common practice, no source
SOONER_DAYS, LATER_DAYS = 12, 5  # a change of energy so near a setting's date is that change's; no source


@dataclass(frozen=True)
class Look:
    """What one series shows."""

    item: DriftSeries
    plan: Design
    result: Search

    def day(self, step: Step) -> date:
        """The first day of a change."""
        found: date = self.plan.days[step.at].date()
        return found

    def known_step(self, since: date | None) -> Step | None:
        """The change that was dated for an event."""
        near = [] if since is None else [s for s in self.result.steps if s.known and self._near(s, since)]
        return min(near, key=lambda s: abs((self.day(s) - since).days)) if near and since else None

    def _near(self, step: Step, since: date) -> bool:
        apart = (self.day(step) - since).days
        return -SOONER_DAYS - 1 <= apart <= LATER_DAYS + 2

    def energy(self, step: Step, confidence: float) -> Estimate:
        """kWh a month of a change."""
        middle, error = step.mean_kwh_a_day * DAYS_A_MONTH, step.mean_error * DAYS_A_MONTH
        half = normal_factor(confidence) * error
        return Estimate(middle, middle - half, middle + half, confidence, error)

    def signature(self, since: date, until: date | None = None) -> Signature | None:
        """What the change looks like over the hours."""
        days = dict(zip(self.plan.days.date, self.plan.is_open.tolist(), strict=True))
        item = self.item
        return signature(
            item.hourly_kw, lambda day: days.get(day, day.weekday() < 5), since, until, fine=item.fine_kw
        )

    @property
    def evidence(self) -> pd.DataFrame:
        """Actual and expected energy a day, the standardised residual and its running sum."""
        residual = self.plan.energy - self.result.expected_before
        scale: FloatArray = residual / self.result.fit.noise
        return pd.DataFrame(
            {
                "day": self.plan.days,
                "actual_kwh": self.plan.energy,
                "expected_kwh": self.result.expected_before,
                "standardised": scale,
                "cusum": plain_cusum(scale),
            }
        )


def look_at(item: DriftSeries, dates: Sequence[date], settings: Sequence[ZoneSettings] = ()) -> Look | None:
    """The series with what is known to have changed on dates; None where it has too few days."""
    plan = design(item) if item.energy_kwh.notna().sum() >= FEWEST_DAYS else None
    if plan is None or len(plan.energy) < FEWEST_DAYS:
        return None
    zones = item.zones or (item.where,)
    plan = replace(plan, daylit=answers_to_sun(zones, settings))
    return Look(item, plan, search(plan, _windows(plan, dates)))


def event_dates(item: DriftSeries, events: Sequence[SettingEvent]) -> list[date]:
    """The days on which settings of the series' zones changed; recurring nights change no level."""
    zones = item.zones or (item.where,)
    own = [e for e in events if e.zone in zones and e.settings != ("nights_left_on",)]
    starts = [event.since for event in own if event.since is not None]
    return starts + [event.until + timedelta(days=1) for event in own if event.until is not None]


def _windows(plan: Design, dates: Sequence[date]) -> list[tuple[int, int, int]]:
    """Index windows around the dates, cut where they would overlap; one for dates close together."""
    found: list[list[int]] = []
    for day in sorted(set(dates)):
        moment = pd.Timestamp(day)
        first, at, last = (
            int(plan.days.searchsorted(moment + pd.Timedelta(days=shift)))
            for shift in (-SOONER_DAYS, 0, LATER_DAYS)
        )
        if at < 3 or at > len(plan.days) - 2:
            continue
        last = min(last, len(plan.days) - 2)
        if found and at - found[-1][2] <= LATER_DAYS:
            found[-1][1] = max(found[-1][1], last)
            continue
        if found and first <= found[-1][1]:
            first = min(found[-1][1] + 1, at)
        found.append([max(first, 2), last, at])
    return [(first, at, last) for first, last, at in found]

"""The drivers of a site's days and hours, worked out once for all meters whose zones open alike.

Only opening hours, connected load and motion tell one meter's drivers from another's; sun, calendar,
people and weather are the site's. The tables are shared: whoever adds a column takes a copy.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field

import pandas as pd

from mv.base.study_records import Span, Study, Zone
from mv.drivers import daily_drivers, hourly_drivers, opening_hours, typical_year
from mv.intake import Intake

PRESENCE = ("occupied_share", "people", "motion_share")


@dataclass(frozen=True)
class DayDrivers:
    """By local day: of both periods, one after the other, and of a typical year."""

    days: pd.DataFrame
    typical: pd.DataFrame


@dataclass(frozen=True)
class HourDrivers:
    """By UTC hour: of each period, and of a typical year with its usual presence."""

    before: pd.DataFrame
    after: pd.DataFrame
    typical: pd.DataFrame


@dataclass(frozen=True)
class SiteDrivers:
    """The tables of one study; they live as long as its verification."""

    study: Study
    intake: Intake
    _days: dict[Hashable, DayDrivers] = field(default_factory=dict)
    _hours: dict[Hashable, HourDrivers] = field(default_factory=dict)

    def by_day(self, zones: tuple[Zone, ...]) -> DayDrivers:
        """The days' drivers of a meter that feeds `zones`."""
        key = self._alike(zones)
        if key not in self._days:
            days = pd.concat([self._of_days(span, zones) for span in self._periods()])
            self._days[key] = DayDrivers(days, typical_year(self.study, days, zones=zones))
        return self._days[key]

    def by_hour(self, zones: tuple[Zone, ...], *, whole_building: bool) -> HourDrivers:
        """Its hours' drivers; of a whole building with the day's temperature, for buildings answer to the
        weather with the delay of their walls.
        """
        key = (self._alike(zones), whole_building)
        if key not in self._hours:
            known = self.by_day(zones)
            before, after = (self._of_hours(span, zones) for span in self._periods())
            first, last = (pd.Timestamp(known.typical.index[place]).date() for place in (0, -1))
            usual = _with_usual_presence(
                hourly_drivers(self.study, first, last, zones=zones), (before, after)
            )
            if whole_building:
                before, after = (_with_temperature(hours, known.days) for hours in (before, after))
                usual = _with_temperature(usual, known.typical)
            self._hours[key] = HourDrivers(before, after, usual)
        return self._hours[key]

    def _alike(self, zones: tuple[Zone, ...]) -> Hashable:
        """The same for zones of which everything is the same that drivers depend on."""
        hours = {opening_hours(self.study, zone) for zone in zones or (None,)}
        if len(hours) == 1 and not any(zone.id in self.intake.motion for zone in zones):
            return hours.pop()
        return tuple(zone.id for zone in zones)

    def _periods(self) -> tuple[Span, Span]:
        assert self.study.periods is not None
        return self.study.periods.baseline, self.study.periods.reporting

    def _of_days(self, span: Span, zones: tuple[Zone, ...]) -> pd.DataFrame:
        logs = self.intake
        return daily_drivers(
            self.study, span.first, span.last,
            occupancy=logs.occupancy, weather=logs.weather, zones=zones, motion=logs.motion,
        )  # fmt: skip

    def _of_hours(self, span: Span, zones: tuple[Zone, ...]) -> pd.DataFrame:
        logs = self.intake
        return hourly_drivers(
            self.study, span.first, span.last, occupancy=logs.occupancy, zones=zones, motion=logs.motion
        )


def _with_temperature(hours: pd.DataFrame, days: pd.DataFrame) -> pd.DataFrame:
    return hours.assign(temperature_c=days["temperature_c"].reindex(hours["local_day"]).to_numpy())


def _with_usual_presence(usual: pd.DataFrame, tables: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """A typical year's people and motion: the mean of both periods at that hour of the week and month."""
    logged = pd.concat(list(tables))
    names = [name for name in PRESENCE if logged[name].notna().any()]
    if not names:
        return usual
    logged = logged.assign(month=logged["local_day"].dt.month)
    cells = usual.assign(month=usual["local_day"].dt.month)
    filled = pd.DataFrame(float("nan"), index=usual.index, columns=names)
    for keys in (["hour_of_week", "is_holiday", "month"], ["hour_of_week", "is_holiday"], ["hour_of_week"]):
        means = logged.groupby(keys)[names].mean()
        at = pd.MultiIndex.from_frame(cells[keys]) if len(keys) > 1 else pd.Index(cells[keys[0]])
        filled = filled.fillna(means.reindex(at).set_axis(usual.index))
        if filled.notna().to_numpy().all():
            break
    return usual.assign(**{name: filled[name] for name in names})

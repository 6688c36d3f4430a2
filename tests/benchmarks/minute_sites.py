"""Sites simulated minute by minute, metered at 15 minutes, an hour or a day, for the coverage bench."""

from dataclasses import dataclass

import pandas as pd

from mv.base.study_records import Study
from mv.cleaning import daily_energy
from mv.drivers import daily_drivers, hourly_drivers
from mv.regression import Kind, expected_by_hour
from mv.simulate import (
    SimulatedSite,
    SiteDesign,
    default_meters,
    meter_series,
    occupancy_series,
    random_site,
    simulate_site,
    weather_series,
)

INTERVALS = (15, 60, 1440)


@dataclass(frozen=True)
class MinuteSite:
    """One meter's days, with the true counterfactual of the reporting days."""

    design: SiteDesign
    interval_minutes: int
    kind: Kind
    drivers: pd.DataFrame
    metered: pd.Series
    counterfactual: pd.Series
    truly_used: pd.Series
    hours: pd.DataFrame | None
    hourly_kwh: pd.Series | None

    def with_hourly_sum(self, first: pd.Timestamp, last: pd.Timestamp) -> pd.DataFrame:
        """The drivers, and where hours are metered the sums of an hourly model of `first` to `last`."""
        if self.hours is None or self.hourly_kwh is None or self.kind == "outdoor":
            return self.drivers
        day = self.hours["local_day"]
        seen, later = self.hours[(day >= first) & (day <= last)], self.hours[day > last]
        sums = expected_by_hour(self.hourly_kwh, seen, [later])
        return self.drivers if sums is None else self.drivers.join(pd.concat(sums))


def study_of(design: SiteDesign) -> Study:
    """What a user would write of such a site: place, hours, holidays, zones."""
    return Study.model_validate(
        {
            "format": 1,
            "site": {
                "latitude": design.latitude, "longitude": design.longitude, "timezone": design.timezone,
            },
            "meter": [{"id": "m", "files": ["m.csv"], "zones": [zone.id for zone in design.zones]}],
            "occupancy": {"hours": _hours(design.hours), "holidays": list(design.holidays)},
            "zone": [
                {"id": zone.id, "fixtures": zone.fixtures, "watts_before": zone.watts_before}
                | ({"hours": _hours(zone.hours)} if zone.hours else {})
                for zone in design.zones
            ],
        }
    )  # fmt: skip


def _hours(text: tuple[tuple[str, str], ...]) -> dict[str, list[str]]:
    table: dict[str, list[str]] = {}
    for days, window in text:
        table.setdefault(days, []).append(window)
    return table


def minute_site(seed: int) -> MinuteSite:
    """Every third site is a whole building; every second logs its people; intervals take turns."""
    whole = seed % 3 == 2
    interval = INTERVALS[(seed // 3) % 3]
    design = random_site(seed, whole_building=whole, interval_minutes=min(interval, 60))
    site = simulate_site(design, seed)
    study = study_of(design)
    people = occupancy_series(site) if seed % 2 else None
    drivers = daily_drivers(
        study, design.baseline[0], design.reporting[1],
        occupancy=people,
        weather=weather_series(site) if whole else None,
        zones=study.zone,
    )  # fmt: skip
    hours, hourly = None, None
    if interval <= 60:
        hours = hourly_drivers(
            study, design.baseline[0], design.reporting[1], occupancy=people, zones=study.zone
        )
        hours["temperature_c"] = drivers["temperature_c"].reindex(hours["local_day"]).to_numpy()
        hourly = _hourly(site, interval, hours)
    outdoor = all(zone.outdoor for zone in design.zones)
    kind: Kind = "whole building" if whole else "outdoor" if outdoor else "indoor"
    return MinuteSite(
        design, interval, kind, drivers, _metered(site, interval).reindex(drivers.index),
        _true_days(site, site.baseline_total_kw).reindex(drivers.index),
        _true_days(site, site.actual_total_kw).reindex(drivers.index),
        hours, hourly,
    )  # fmt: skip


def _hourly(site: SimulatedSite, interval: int, hours: pd.DataFrame) -> pd.Series:
    energy = meter_series(site, default_meters(site, interval)[0]).energy_kwh
    grouped = energy.resample("1h", origin=hours.index[0])
    return grouped.sum().where(grouped.count() == 60 // interval)


def _metered(site: SimulatedSite, interval: int) -> pd.Series:
    """Daily kWh as the meter gives it; a daily meter reads whole tenths of a kWh by the local day."""
    series = meter_series(site, default_meters(site, min(interval, 60))[0])
    days = daily_energy(series, site.design.timezone)["energy_kwh"]
    return days.round(1) if interval == 1440 else days


def _true_days(site: SimulatedSite, power_kw: object) -> pd.Series:
    hourly = site.series(power_kw, 15) / 4.0  # type: ignore[arg-type]
    day = hourly.index.tz_convert(site.design.timezone).tz_localize(None).normalize()
    return hourly.groupby(day).sum()

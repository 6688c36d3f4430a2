"""Sites drawn at random for benches: many latitudes, schedules, kinds of zone, sizes and habits."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from mv.simulate.arrays import stream
from mv.simulate.design import (
    HoursText,
    OtherLoad,
    SettingChange,
    SiteDesign,
    ZoneDesign,
)
from mv.simulate.zone_kinds import KINDS, make_zone, with_mess

PLACES: tuple[tuple[float, float, str], ...] = (  # latitude, longitude, IANA zone
    (-50.0, -69.2, "America/Argentina/Rio_Gallegos"),
    (-37.8, 145.0, "Australia/Melbourne"),
    (-33.4, -70.7, "America/Santiago"),
    (-12.0, -77.0, "America/Lima"),
    (1.3, 103.8, "Asia/Singapore"),
    (19.4, -99.1, "America/Mexico_City"),
    (28.6, 77.2, "Asia/Kolkata"),
    (33.4, -112.1, "America/Phoenix"),
    (35.7, 139.7, "Asia/Tokyo"),
    (40.7, -74.0, "America/New_York"),
    (44.5, -89.6, "America/Chicago"),
    (48.1, 11.6, "Europe/Berlin"),
    (51.5, -0.1, "Europe/London"),
    (59.3, 18.1, "Europe/Stockholm"),
    (65.0, 25.5, "Europe/Helsinki"),
)
SCHEDULES: tuple[HoursText, ...] = (
    (("mon-fri", "07:00-18:00"),),
    (("mon-fri", "06:30-22:00"), ("sat", "07:00-13:00")),
    (("mon-sat", "08:00-20:00"), ("sun", "10:00-17:00")),
    (("mon-fri", "08:00-17:30"),),
    (("mon-thu", "06:00-23:00"), ("fri", "06:00-15:00")),
    (("mon-sun", "09:00-21:00"),),
    (("mon-sun", "00:00-24:00"),),
    (("mon-fri", "14:00-02:00"),),
    (("tue-sat", "09:30-19:00"),),
)


def random_site(
    seed: int,
    *,
    latitude: float | None = None,
    zones: int = 1,
    kinds: tuple[str, ...] | None = None,
    interval_minutes: int = 15,
    baseline_months: int = 12,
    reporting_months: int = 12,
    persistence: float | None = None,
    whole_building: bool = False,
    changes: tuple[SettingChange, ...] = (),
    difficult: bool = False,
) -> SiteDesign:
    """A site of the given size; what is not given is drawn from the seed.

    `latitude` picks the nearest of the known places (its longitude and time zone) and replaces the
    latitude. The baseline ends with 2022 (or where its months end), works take January and
    February 2023, the reporting period begins on 2023-03-01. `difficult` adds what makes real zones
    hard to read: several sensors a zone, schedules wider than posted, wall switches, deaf meters.
    """
    rng = stream(seed, "random site")
    place = PLACES[int(rng.integers(len(PLACES)))]
    if latitude is not None:
        place = min(PLACES, key=lambda p: abs(p[0] - latitude))
        place = (latitude, place[1], place[2])
    keep = float(rng.uniform(0.0, 0.9)) if persistence is None else persistence
    site_hours = SCHEDULES[int(rng.integers(len(SCHEDULES)))]
    reporting_first = date(2023, 3, 1)
    design = SiteDesign(
        name=f"Invented site {seed}",
        latitude=place[0],
        longitude=place[1],
        timezone=place[2],
        zones=_zones(rng, zones, kinds, place[0]),
        baseline=(_months_before(date(2023, 1, 1), baseline_months), date(2022, 12, 31)),
        reporting=(reporting_first, _months_after(reporting_first, reporting_months) - timedelta(days=1)),
        hours=site_hours,
        holidays=_holidays(rng, school=kinds == ("classroom",), south=place[0] < 0),
        quiet_weeks=_quiet_weeks(place[0]),
        persistence=keep,
        cloudiness=float(rng.uniform(0.3, 0.75)),
        mean_temperature_c=27.0 - 0.42 * abs(place[0]),
        temperature_swing_c=0.22 * abs(place[0]),
        changes=changes,
        interval_minutes=interval_minutes,
    )
    if difficult:
        design = replace(design, zones=tuple(with_mess(zone, rng) for zone in design.zones))
    return replace(design, whole_building=_other_load(rng, design)) if whole_building else design


def _zones(
    rng: np.random.Generator, number: int, kinds: tuple[str, ...] | None, latitude: float
) -> tuple[ZoneDesign, ...]:
    pool = kinds or tuple(KINDS)
    if kinds is None and number > 1:  # one zone of a school would close the whole site in summer
        pool = tuple(kind for kind in pool if kind != "classroom")
    chosen = [pool[int(rng.integers(len(pool)))] for _ in range(number)]
    return tuple(make_zone(kind, f"{kind}-{n + 1}", rng, latitude) for n, kind in enumerate(chosen))


def _other_load(rng: np.random.Generator, design: SiteDesign) -> OtherLoad:
    """Other load of one to three times the lighting's."""
    light = sum(zone.connected_kw_before for zone in design.zones)
    size = light * rng.uniform(0.8, 2.5)
    return OtherLoad(
        base_kw=float(size * rng.uniform(0.15, 0.4)),
        in_use_kw=float(size * rng.uniform(0.3, 0.6)),
        cooling_kw_per_k=float(size * rng.uniform(0.0, 0.04)),
        cooling_above_c=float(rng.uniform(15, 20)),
        heating_kw_per_k=float(size * rng.choice([0.0, 0.0, 0.02])),
        heating_below_c=float(rng.uniform(9, 14)),
        noise_fraction=float(rng.uniform(0.02, 0.08)),
    )


def _holidays(rng: np.random.Generator, *, school: bool, south: bool) -> tuple[date, ...]:
    """New year, a spring and an autumn day, the end of December, a few drawn ones; schools' long breaks."""
    fixed = ((1, 1), (5, 1), (12, 25), (12, 26))
    drawn = tuple((int(rng.integers(2, 12)), int(rng.integers(1, 28))) for _ in range(4))
    days = {date(year, month, day) for year in range(2019, 2028) for month, day in (*fixed, *drawn)}
    if school:
        breaks = ((12, 18, 40), (7, 1, 14)) if south else ((7, 4, 45), (12, 20, 16), (4, 1, 12))
        for year in range(2019, 2028):
            for month, day, length in breaks:
                days |= {date(year, month, day) + timedelta(days=n) for n in range(length)}
    return tuple(sorted(days))


def _quiet_weeks(latitude: float) -> tuple[tuple[date, date], ...]:
    summer = (7, 20, 8, 10) if latitude >= 0 else (1, 5, 1, 26)
    spans = []
    for year in range(2019, 2028):
        spans.append((date(year, *summer[:2]), date(year, *summer[2:])))
        spans.append((date(year, 12, 22), date(year + 1, 1, 3)))
    return tuple(spans)


def _months_before(day: date, months: int) -> date:
    number = day.year * 12 + day.month - 1 - months
    return date(number // 12, number % 12 + 1, 1)


def _months_after(day: date, months: int) -> date:
    return _months_before(day, -months)

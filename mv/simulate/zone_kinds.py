"""Kinds of zone with a character of their own, drawn in many sizes."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from mv.simulate.design import Behaviour, Daylight, OldSystem, ZoneDesign, ZoneSettings

Draw = np.random.Generator


def make_zone(kind: str, name: str, rng: Draw, latitude: float = 45.0) -> ZoneDesign:
    """A zone of a kind: its people, lamps and settings drawn within what such zones have."""
    zone = replace(KINDS[kind](rng), id=name, kind=kind)
    side = 180.0 if latitude >= 0 else 0.0
    if zone.daylight.facade_azimuth is not None:
        turned = (side + rng.uniform(-120, 120)) % 360.0
        zone = replace(zone, daylight=replace(zone.daylight, facade_azimuth=float(turned)))
    if not zone.outdoor and rng.random() < 0.2:
        share = rng.uniform(0.02, 0.06)
        before, after = zone.connected_kw_before * share, zone.connected_kw_after * share
        zone = replace(zone, egress_kw_before=float(before), egress_kw_after=float(after))
    return zone


def with_mess(zone: ZoneDesign, rng: Draw) -> ZoneDesign:
    """The zone with what makes it hard to read: more sensors, a wider schedule, people at the wall switch."""
    if zone.outdoor:
        timed = replace(zone.old, control="timer") if rng.random() < 0.35 else zone.old
        return replace(zone, old=timed)
    agreed = replace(
        zone.commissioned,
        sensor_groups=int(rng.choice([1, 2, 4])),
        schedule_margin_minutes=int(rng.choice([0, 15, 30])),
    )
    people = replace(
        zone.behaviour,
        dark_hours_per_week=float(rng.uniform(0.0, 3.0)),
        false_motion_per_day=float(rng.uniform(0.2, 4.0)),
    )
    held_off = zone.daylight.setpoint_lux * 1.3 if rng.random() < 0.2 else None
    daylight = replace(zone.daylight, hold_off_lux=held_off)
    return replace(zone, commissioned=agreed, behaviour=people, daylight=daylight)


def _settings(rng: Draw, *, daylight: bool, dark_vacant: float = 0.4) -> ZoneSettings:
    """Trim 0.6-1, low level 0 or 0.1-0.5, delay 2-30 minutes, as found in the trade."""
    low = 0.0 if rng.random() < dark_vacant else round(float(rng.uniform(0.1, 0.5)), 2)
    return ZoneSettings(
        high_trim=round(float(rng.uniform(0.6, 1.0)), 2),
        low_level=low,
        hold_minutes=float(rng.choice([2, 5, 8, 10, 12, 15, 20, 30])),
        daylight_dimming=daylight,
        scheduled_off=bool(rng.random() < 0.85),
        standby_watts=round(float(rng.uniform(0.1, 1.2)), 2),
    )


def _watts(rng: Draw, low: float, high: float) -> tuple[float, float]:
    before = round(float(rng.uniform(low, high)), 0)
    return before, round(before * float(rng.uniform(0.3, 0.55)), 1)


def _workshop(rng: Draw) -> ZoneDesign:
    before, after = _watts(rng, 180, 460)
    daylit, by_the_bell = bool(rng.random() < 0.8), bool(rng.random() < 0.5)
    people = Behaviour(staff=int(rng.integers(5, 18)), motion_probability=0.8, breaks_together=by_the_bell)
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(20, 90)),
        watts_before=before,
        watts_after=after,
        behaviour=_varied(rng, people),
        old=OldSystem("panel", 2, float(rng.uniform(0.03, 0.15))),
        daylight=Daylight(float(rng.uniform(0.008, 0.05)), float(rng.uniform(0.6, 1.0)), 500.0, 0.1),
        commissioned=_settings(rng, daylight=daylit),
    )


def _stores(rng: Draw) -> ZoneDesign:
    before, after = _watts(rng, 90, 300)
    people = Behaviour(
        staff=0, visits_per_hour=float(rng.uniform(2, 9)), visit_minutes=float(rng.uniform(3, 10)),
        motion_probability=0.85, visit_profile="midday",
    )  # fmt: skip
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(15, 80)),
        watts_before=before,
        watts_after=after,
        behaviour=_varied(rng, people),
        old=OldSystem("panel" if rng.random() < 0.7 else "always", 1, float(rng.uniform(0.03, 0.2))),
        commissioned=_settings(rng, daylight=False),
    )


def _office(rng: Draw) -> ZoneDesign:
    before, after = _watts(rng, 60, 130)
    daylit = bool(rng.random() < 0.6)
    share = float(rng.uniform(0.25, 0.7))
    people = Behaviour(staff=int(rng.integers(2, 22)), motion_probability=float(rng.uniform(0.35, 0.6)))
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(12, 120)),
        watts_before=before,
        watts_after=after,
        behaviour=_varied(rng, people),
        old=OldSystem("manual", int(rng.integers(1, 5)), float(rng.uniform(0.05, 0.25))),
        daylight=Daylight(float(rng.uniform(0.01, 0.04)), share, 450.0, 0.1, 180.0),
        commissioned=_settings(rng, daylight=daylit),
    )


def _hall(rng: Draw) -> ZoneDesign:
    before, after = _watts(rng, 100, 420)
    people = Behaviour(
        staff=int(rng.integers(0, 4)), shifts=2, visits_per_hour=float(rng.uniform(4, 15)),
        visit_minutes=float(rng.uniform(15, 60)), visit_profile="evening", motion_probability=0.7,
    )  # fmt: skip
    settings = _settings(rng, daylight=False, dark_vacant=0.2)
    if rng.random() < 0.35:
        settings = replace(settings, occupancy_sensing=False, scheduled_off=True)
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(15, 70)),
        watts_before=before,
        watts_after=after,
        behaviour=_varied(rng, people),
        old=OldSystem("panel", 2, float(rng.uniform(0.03, 0.15))),
        commissioned=settings,
    )


def _corridor(rng: Draw) -> ZoneDesign:
    before, after = _watts(rng, 30, 80)
    people = Behaviour(
        staff=0, visits_per_hour=float(rng.uniform(4, 20)), visit_minutes=2.0, motion_probability=0.95
    )
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(8, 60)),
        watts_before=before,
        watts_after=after,
        behaviour=_varied(rng, people),
        old=OldSystem("always" if rng.random() < 0.5 else "panel", 1, 0.1),
        commissioned=_settings(rng, daylight=False, dark_vacant=0.1),
    )


def _classroom(rng: Draw) -> ZoneDesign:
    """Lessons by the bell: the room fills and empties together, several times a day."""
    before, after = _watts(rng, 60, 130)
    people = Behaviour(
        staff=int(rng.integers(12, 30)),
        attendance=0.93,
        arrival_sd=5.0,
        departure=-120.0,
        departure_sd=15.0,
        breaks_per_day=6,
        break_minutes=float(rng.uniform(12, 40)),
        lunch_minutes=50.0,
        breaks_together=True,
        motion_probability=0.3,
    )
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(9, 48)),
        watts_before=before,
        watts_after=after,
        behaviour=_varied(rng, people),
        old=OldSystem(
            "manual",
            int(rng.integers(1, 4)),
            float(rng.uniform(0.05, 0.2)),
            off_in_gaps=float(rng.uniform(0.1, 0.8)),
        ),
        daylight=Daylight(float(rng.uniform(0.015, 0.04)), float(rng.uniform(0.4, 0.8)), 400.0, 0.1, 180.0),
        commissioned=_settings(rng, daylight=bool(rng.random() < 0.7)),
    )


def _outdoor(rng: Draw) -> ZoneDesign:
    before, after = _watts(rng, 150, 450)
    part = 1.0 if rng.random() < 0.5 else round(float(rng.uniform(0.3, 0.7)), 2)
    trim = round(float(rng.uniform(0.8, 1.0)), 2)
    return ZoneDesign(
        id="",
        fixtures=int(rng.integers(6, 40)),
        watts_before=before,
        watts_after=after,
        outdoor=True,
        behaviour=Behaviour(staff=0, cleaners_after_closing=None, closed_visits_per_day=0.0),
        old=OldSystem("photocell", 1, switching_elevation=float(rng.uniform(-1.0, 2.0))),
        commissioned=ZoneSettings(
            high_trim=trim,
            low_level=0.0,
            scheduled_off=False,
            occupancy_sensing=False,
            standby_watts=round(float(rng.uniform(0.1, 0.8)), 2),
            switching_elevation=float(rng.uniform(-5.0, -2.0)),
            part_night_level=part,
        ),
    )


def _varied(rng: Draw, people: Behaviour) -> Behaviour:
    """Cleaners, carelessness of hours and spread of workload differ from site to site."""
    return replace(
        people,
        cleaners_after_closing=float(rng.uniform(5, 60)) if rng.random() < 0.7 else None,
        cleaner_minutes=float(rng.uniform(15, 70)),
        workload_sd=float(rng.uniform(0.06, 0.25)),
        hours_sd=float(rng.uniform(4, 20)),
        season_amplitude=float(rng.uniform(-0.1, 0.12)),
        closed_visits_per_day=float(rng.uniform(0, 1.2)),
    )


KINDS: dict[str, Callable[[Draw], ZoneDesign]] = {
    "workshop": _workshop,
    "stores": _stores,
    "office": _office,
    "hall": _hall,
    "corridor": _corridor,
    "classroom": _classroom,
    "outdoor": _outdoor,
}

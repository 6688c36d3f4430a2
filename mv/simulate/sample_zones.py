"""The six zones of the sample site, each of a different character. All invented."""

from mv.simulate.design import Behaviour, Daylight, HoursText, OldSystem, ZoneDesign, ZoneSettings

LATE_HOURS: HoursText = (("mon-thu", "08:00-22:30"), ("fri", "08:00-23:00"), ("sat-sun", "10:00-20:00"))


def sample_zones() -> tuple[ZoneDesign, ...]:
    """Skylit workshop, aisles of stores, offices, a hall open late, stairs, and the perimeter."""
    return (_workshop(), _aisles(), _offices(), _hall(), _stairs(), _perimeter())


def _workshop() -> ZoneDesign:
    return ZoneDesign(
        id="workshop",
        kind="workshop",
        fixtures=64,
        watts_before=288.0,
        watts_after=118.0,
        behaviour=Behaviour(staff=12, motion_probability=0.7, breaks_together=True, workload_sd=0.10),
        old=OldSystem("panel", 2, forget=0.07),
        daylight=Daylight(factor=0.016, share=1.0, setpoint_lux=500.0, min_level=0.10),
        commissioned=ZoneSettings(
            high_trim=0.80, low_level=0.20, hold_minutes=10.0, daylight_dimming=True, standby_watts=0.3
        ),
    )


def _aisles() -> ZoneDesign:
    people = Behaviour(
        staff=0,
        visits_per_hour=4.5,
        visit_minutes=6.0,
        visit_profile="midday",
        motion_probability=0.85,
        cleaners_after_closing=None,
        workload_sd=0.18,
    )
    return ZoneDesign(
        id="aisles",
        kind="stores",
        fixtures=48,
        watts_before=216.0,
        watts_after=92.0,
        behaviour=people,
        old=OldSystem("panel", 1, forget=0.10),
        commissioned=ZoneSettings(high_trim=0.85, low_level=0.10, hold_minutes=5.0, standby_watts=0.4),
    )


def _offices() -> ZoneDesign:
    return ZoneDesign(
        id="offices",
        kind="office",
        fixtures=60,
        watts_before=112.0,
        watts_after=38.0,
        behaviour=Behaviour(
            staff=4,
            attendance=0.80,
            motion_probability=0.22,
            arrival=60.0,
            arrival_sd=22.0,
            departure_sd=35.0,
            breaks_per_day=5,
            break_minutes=24.0,
            lunch_minutes=48.0,
            breaks_together=True,
        ),
        old=OldSystem("manual", 3, forget=0.18),
        daylight=Daylight(factor=0.018, share=0.4, setpoint_lux=420.0, min_level=0.10, facade_azimuth=160.0),
        commissioned=ZoneSettings(
            high_trim=0.75, low_level=0.0, hold_minutes=10.0, daylight_dimming=True, standby_watts=0.5
        ),
    )


def _hall() -> ZoneDesign:
    people = Behaviour(
        staff=1,
        shifts=2,
        visits_per_hour=3.0,
        visit_minutes=32.0,
        visit_profile="evening",
        motion_probability=0.55,
        cleaners_after_closing=10.0,
        cleaner_minutes=45.0,
        cleaner_days=(0, 1, 2, 3, 4, 5, 6),
        workload_sd=0.2,
    )
    return ZoneDesign(
        id="hall",
        kind="hall",
        fixtures=36,
        watts_before=405.0,
        watts_after=168.0,
        hours=LATE_HOURS,
        behaviour=people,
        old=OldSystem("panel", 2, forget=0.08),
        commissioned=ZoneSettings(high_trim=0.85, low_level=0.30, hold_minutes=15.0, standby_watts=0.6),
    )


def _stairs() -> ZoneDesign:
    people = Behaviour(
        staff=0, visits_per_hour=9.0, visit_minutes=2.0, motion_probability=0.95, cleaner_minutes=15.0
    )
    return ZoneDesign(
        id="stairs",
        kind="corridor",
        fixtures=40,
        watts_before=62.0,
        watts_after=24.0,
        hours=LATE_HOURS,
        behaviour=people,
        old=OldSystem("always", 1),
        commissioned=ZoneSettings(high_trim=0.90, low_level=0.25, hold_minutes=5.0, standby_watts=0.4),
        egress_kw_before=0.30,
        egress_kw_after=0.12,
    )


def _perimeter() -> ZoneDesign:
    return ZoneDesign(
        id="perimeter",
        kind="outdoor",
        fixtures=22,
        watts_before=295.0,
        watts_after=98.0,
        outdoor=True,
        behaviour=Behaviour(staff=0, cleaners_after_closing=None, closed_visits_per_day=0.0),
        old=OldSystem("photocell", 1, switching_elevation=0.5),
        commissioned=ZoneSettings(
            high_trim=0.95,
            low_level=0.0,
            scheduled_off=False,
            occupancy_sensing=False,
            standby_watts=0.5,
            switching_elevation=-3.0,
            part_night_level=0.6,
        ),
    )

"""People: they keep hours, their habits drift at the asked persistence, and sensors see them imperfectly."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from mv.simulate import Behaviour, Closure, SiteDesign, ZoneDesign, random_site, simulate_site
from mv.simulate.minute_clock import minute_clock
from mv.simulate.people import make_habits


def site(**changed: object) -> SiteDesign:
    plain = SiteDesign(
        "x",
        48.0,
        11.0,
        "Europe/Berlin",
        (ZoneDesign("room", behaviour=Behaviour(staff=6)),),
        (date(2023, 1, 1), date(2023, 3, 31)),
        (date(2023, 5, 1), date(2023, 6, 30)),
        holidays=(date(2023, 5, 1), date(2023, 5, 18)),
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize("persistence", [0.0, 0.5, 0.9])
def test_habits_drift_with_the_asked_day_to_day_correlation(persistence: float) -> None:
    design = replace(random_site(1, persistence=persistence), quiet_weeks=())
    zone = replace(design.zones[0], behaviour=Behaviour(season_amplitude=0.0))
    clock = minute_clock(date(2000, 1, 1), date(2019, 12, 31), "UTC")
    log = np.log(make_habits(zone, design, clock, 5).workload)
    assert np.corrcoef(log[1:], log[:-1])[0, 1] == pytest.approx(persistence, abs=0.04)
    assert log.std() == pytest.approx(Behaviour().workload_sd, rel=0.15)


def test_most_presence_lies_in_opening_hours_and_none_of_the_staff_come_on_holidays() -> None:
    simulated = simulate_site(site(), 2)
    room = simulated.zones[0]
    present = room.people > 0
    assert (present & room.scene.hours.open).sum() > 0.85 * present.sum()
    holiday = simulated.clock.span(date(2023, 5, 18), date(2023, 5, 18))
    workday = simulated.clock.span(date(2023, 5, 16), date(2023, 5, 16))
    assert room.people[holiday].sum() < 0.05 * room.people[workday].sum()


def test_a_closure_empties_its_zone_while_the_schedule_stays() -> None:
    closure = Closure("room", date(2023, 6, 5), date(2023, 6, 9))
    simulated = simulate_site(site(closures=(closure,)), 2)
    room, week = simulated.zones[0], simulated.clock.span(closure.first, closure.last)
    assert room.people[week].mean() < 0.1
    assert room.scene.hours.open[week].sum() == 5 * 11 * 60


def test_a_sensor_misses_still_people_but_sees_them_walk_in() -> None:
    simulated = simulate_site(site(), 3)
    room = simulated.zones[0]
    alone = room.people == 1
    assert 0.2 < room.motion[alone].mean() < 0.95
    came = np.flatnonzero(np.diff(room.people, prepend=0) > 0)
    assert room.motion[came].all()
    empty = (room.people == 0) & room.motion
    assert 0 < empty.sum() < 2 * simulated.clock.days


def test_logged_stretches_of_motion_are_apart_in_order_and_cover_the_motion_minutes() -> None:
    people = simulate_site(site(), 4).zones[0].scene.people
    start, end = people.motion_start_s, people.motion_end_s
    assert (end > start).all()
    assert (start[1:] > end[:-1]).all()
    minutes = np.unique(np.concatenate([start // 60, (end - 1) // 60]).astype(int))
    assert people.motion[minutes].all()


def test_people_who_break_together_leave_the_room_empty_at_noon() -> None:
    def emptiness(together: bool) -> float:
        zone = ZoneDesign("room", behaviour=Behaviour(staff=8, breaks_together=together))
        room = simulate_site(site(zones=(zone,)), 5).zones[0]
        return float((room.people[room.scene.hours.open] == 0).mean())

    assert emptiness(True) > emptiness(False) + 0.03


def test_staff_stay_about_as_long_as_they_should() -> None:
    simulated = simulate_site(site(), 6)
    room = simulated.zones[0]
    first, last = date(2023, 2, 6), date(2023, 2, 10)
    days = (last - first + timedelta(days=1)).days
    hours = room.people[simulated.clock.span(first, last)].sum() / 60 / days / 6
    assert 5.5 < hours < 10.0  # 11 h open, less lateness, breaks, lunch and absence

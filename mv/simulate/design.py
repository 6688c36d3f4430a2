"""What an invented site is made of: every number the simulator needs, in frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Literal

OldControl = Literal["manual", "panel", "always", "photocell", "timer"]
Profile = Literal["flat", "midday", "evening"]
Setting = Literal[
    "high_trim",
    "low_level",
    "hold_minutes",
    "daylight_dimming",
    "scheduled_off",
    "standby_watts",
    "sensor_bypassed",
    "override_on",
    "photocell_stuck",
    "switching_elevation",
    "lamps_failed",
    "added_kw",
    "clock_offset_minutes",
]
HoursText = tuple[tuple[str, str], ...]

INTERFACE_SETTINGS: tuple[Setting, ...] = (
    "high_trim",
    "low_level",
    "hold_minutes",
    "daylight_dimming",
    "scheduled_off",
    "standby_watts",
)
FACTORY_DEFAULTS: Mapping[Setting, float | bool] = {  # invented: what a reset controller falls back to
    "high_trim": 1.0,
    "low_level": 0.30,
    "hold_minutes": 20.0,
    "daylight_dimming": False,
}


@dataclass(frozen=True)
class ZoneSettings:
    """What was agreed at hand-over; levels are fractions of the connected load."""

    high_trim: float = 0.85
    low_level: float = 0.20
    hold_minutes: float = 10.0
    daylight_dimming: bool = False
    scheduled_off: bool = True
    standby_watts: float = 0.4
    occupancy_sensing: bool = True
    switching_elevation: float = -3.0  # degrees of sun elevation, outdoor only
    part_night_level: float = 1.0  # outdoor level between the part-night hours
    part_night_hours: tuple[float, float] = (23.0, 5.0)  # local clock
    sensor_groups: int = 1  # parts of the zone with a sensor each; the motion log tells of any of them
    schedule_margin_minutes: int = 0  # the schedule's hours are longer at both ends than those posted

    def value(self, setting: Setting) -> float | bool:
        """The agreed value; what is no setting but a fault is absent: 0 or False."""
        found: float | bool = getattr(self, setting, 0.0)
        return found


@dataclass(frozen=True)
class Behaviour:
    """How people use a zone. Times are minutes; `arrival` and `departure` are after opening and closing."""

    staff: int = 6
    shifts: int = 1
    attendance: float = 0.88
    arrival: float = -8.0
    arrival_sd: float = 14.0
    departure: float = -15.0
    departure_sd: float = 25.0
    lunch_minutes: float = 38.0
    breaks_per_day: int = 3
    break_minutes: float = 11.0
    breaks_together: bool = False  # a crew's breaks by the bell
    visits_per_hour: float = 0.0
    visit_minutes: float = 6.0
    visit_profile: Profile = "flat"
    closed_visits_per_day: float = 0.4  # patrols, the odd key holder
    cleaners_after_closing: float | None = 25.0  # None: no cleaners
    cleaner_minutes: float = 35.0
    cleaner_days: tuple[int, ...] = (0, 1, 2, 3, 4)
    motion_probability: float = 0.55  # that a present person moves in sight of the sensor in a minute
    false_motion_per_day: float = 0.3
    dark_hours_per_week: float = 0.0  # light switched off by choice (a talk, a screen) for about an hour
    workload_sd: float = 0.15  # day-to-day spread of the logarithm of workload
    hours_sd: float = 12.0  # day-to-day spread of the site's hours, minutes
    season_amplitude: float = 0.06


@dataclass(frozen=True)
class OldSystem:
    """The lamps before: who switches them, and how carelessly."""

    control: OldControl = "manual"
    switch_groups: int = 3
    forget: float = 0.10  # that the last one out leaves a group burning
    spare_bay: float = 8.0  # how strongly slack work leaves the last of several groups dark
    off_in_gaps: float = 0.12  # that lamps are switched off for a break of 20-90 minutes
    daylight_switching: float = 0.35  # how much bright daylight keeps people from switching on
    failed_fraction: float = 0.03
    voltage_exponent: float = 1.3
    switching_elevation: float = 0.5  # degrees, photocell only


@dataclass(frozen=True)
class Daylight:
    """What reaches the working plane. `facade_azimuth` None is a skylight; else degrees from north."""

    factor: float = 0.0  # interior over outdoor horizontal illuminance
    share: float = 1.0  # of the fixtures that stand in it
    setpoint_lux: float = 450.0
    min_level: float = 0.10
    facade_azimuth: float | None = None
    hold_off_lux: float | None = None  # daylight above which the lamps are kept off; None: never


@dataclass(frozen=True)
class ZoneDesign:
    """One lighting zone, before and after. Egress load burns always and is not in `fixtures`."""

    id: str
    kind: str = "office"
    fixtures: int = 40
    watts_before: float = 120.0
    watts_after: float = 48.0
    outdoor: bool = False
    hours: HoursText | None = None  # None: the site's
    behaviour: Behaviour = Behaviour()
    old: OldSystem = OldSystem()
    daylight: Daylight = Daylight()
    commissioned: ZoneSettings = ZoneSettings()
    egress_kw_before: float = 0.0
    egress_kw_after: float = 0.0

    @property
    def connected_kw_before(self) -> float:
        """Switched load before, kW."""
        return self.fixtures * self.watts_before / 1000.0

    @property
    def connected_kw_after(self) -> float:
        """Switched load after, kW."""
        return self.fixtures * self.watts_after / 1000.0


@dataclass(frozen=True)
class SettingChange:
    """A change after hand-over, effective from `minute` of the local date `day`."""

    zone: str
    day: date
    setting: Setting
    value: float | bool
    minute: int = 0
    cause: str = ""


@dataclass(frozen=True)
class Closure:
    """A zone in which nobody works from the local date `first` to `last`; its controls do not know."""

    zone: str
    first: date
    last: date


@dataclass(frozen=True)
class WorkloadStep:
    """From the local date `day` on, a zone (or "*", the site) has `factor` times the work: a new tenant."""

    zone: str
    day: date
    factor: float


@dataclass(frozen=True)
class Outage:
    """The mains fail at a local wall-clock time for some minutes: nothing burns, whatever the lamps."""

    when: datetime
    minutes: int


@dataclass(frozen=True)
class OtherLoad:
    """What else a whole-building meter sees; kW, and kW per kelvin beyond a balance temperature."""

    base_kw: float = 5.0
    in_use_kw: float = 12.0
    cooling_kw_per_k: float = 1.2
    cooling_above_c: float = 17.0
    heating_kw_per_k: float = 0.0
    heating_below_c: float = 12.0
    noise_fraction: float = 0.05
    lighting_to_cooling: float = 0.0  # cooling power saved per kW of light saved while cooling runs


@dataclass(frozen=True)
class SiteDesign:
    """The whole site. Periods are local dates, both included; works lie between them."""

    name: str
    latitude: float
    longitude: float
    timezone: str
    zones: tuple[ZoneDesign, ...]
    baseline: tuple[date, date]
    reporting: tuple[date, date]
    hours: HoursText = (("mon-fri", "07:00-18:00"),)
    holidays: tuple[date, ...] = ()
    quiet_weeks: tuple[tuple[date, date], ...] = ()  # holiday season: fewer people
    persistence: float = 0.6  # day-to-day correlation of behaviour
    cloudiness: float = 0.55  # mean cloud cover
    mean_temperature_c: float = 10.0
    temperature_swing_c: float = 11.0
    changes: tuple[SettingChange, ...] = ()
    closures: tuple[Closure, ...] = ()
    outages: tuple[Outage, ...] = ()
    workload_steps: tuple[WorkloadStep, ...] = ()
    whole_building: OtherLoad | None = None
    interval_minutes: int = 15
    handover: date | None = None  # None: the day after the works' middle

    def __post_init__(self) -> None:
        known = {zone.id for zone in self.zones}
        named = {change.zone for change in self.changes} | {closure.zone for closure in self.closures}
        unknown = (named | {step.zone for step in self.workload_steps} - {"*"}) - known
        if unknown or len(known) != len(self.zones):
            raise ValueError(f"zones must be unique, and changes name one of them: {sorted(unknown)}")

    def zone(self, name: str) -> ZoneDesign:
        """The zone of that name."""
        return next(zone for zone in self.zones if zone.id == name)

    def with_changes(self, *changes: SettingChange) -> "SiteDesign":
        """The same site, with these changes added."""
        return replace(self, changes=(*self.changes, *changes))


def firmware_reset(
    design: SiteDesign, day: date, *, zones: tuple[str, ...] | None = None, minute: int = 130
) -> tuple[SettingChange, ...]:
    """Every indoor zone (or those named) falls back to the controller's delivery settings at one time."""
    chosen = [z for z in design.zones if not z.outdoor and (zones is None or z.id in zones)]
    return tuple(
        SettingChange(zone.id, day, setting, value, minute, "firmware reset")
        for zone in chosen
        for setting, value in FACTORY_DEFAULTS.items()
        if zone.commissioned.value(setting) != value and not (setting == "low_level" and value == 0)
    )

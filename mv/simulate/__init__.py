"""Invented sites with a known truth: people, sky, old and new lighting, meters and their faults."""

from mv.simulate.design import (
    Behaviour,
    Closure,
    Daylight,
    OldSystem,
    OtherLoad,
    Outage,
    SettingChange,
    SiteDesign,
    WorkloadStep,
    ZoneDesign,
    ZoneSettings,
    firmware_reset,
)
from mv.simulate.expected import ExpectedSavings, expected_savings
from mv.simulate.in_memory import meter_series, motion_log, occupancy_series, weather_series
from mv.simulate.meter import FileFault, MeterDesign
from mv.simulate.new_lamps import Measures
from mv.simulate.planted import CHANGE_KINDS, random_changes, random_file_faults
from mv.simulate.random_site import random_site
from mv.simulate.site import SimulatedSite, SimulatedZone, simulate_site
from mv.simulate.study_folder import default_meters, write_study
from mv.simulate.study_text import StudyExtras
from mv.simulate.truth import (
    SHOWS_AS,
    bridge_steps,
    peak_reduction_kw,
    true_settings,
    truth_record,
    zone_changes,
)
from mv.simulate.worth import ChangeWorth, change_worths
from mv.simulate.zone_kinds import make_zone

__all__ = [
    "CHANGE_KINDS",
    "SHOWS_AS",
    "Behaviour",
    "ChangeWorth",
    "Closure",
    "Daylight",
    "ExpectedSavings",
    "FileFault",
    "Measures",
    "MeterDesign",
    "OldSystem",
    "OtherLoad",
    "Outage",
    "SettingChange",
    "SimulatedSite",
    "SimulatedZone",
    "SiteDesign",
    "StudyExtras",
    "WorkloadStep",
    "ZoneDesign",
    "ZoneSettings",
    "bridge_steps",
    "change_worths",
    "default_meters",
    "expected_savings",
    "firmware_reset",
    "make_zone",
    "meter_series",
    "motion_log",
    "occupancy_series",
    "peak_reduction_kw",
    "random_changes",
    "random_file_faults",
    "random_site",
    "simulate_site",
    "true_settings",
    "truth_record",
    "weather_series",
    "write_study",
    "zone_changes",
]

"""The sample study: an invented site, its meters, what went wrong in it, and the papers that go with it."""

from datetime import date, datetime
from pathlib import Path

from mv.base.files import write_whole
from mv.simulate.design import Closure, Outage, SettingChange, SiteDesign
from mv.simulate.layouts import table_text
from mv.simulate.meter import FileFault, MeterDesign
from mv.simulate.papers import INVENTORY_COLUMNS
from mv.simulate.sample_claim import sample_claim, sample_papers
from mv.simulate.sample_zones import sample_zones
from mv.simulate.site import SimulatedSite, simulate_site
from mv.simulate.study_folder import write_study
from mv.simulate.study_text import StudyExtras, Table

SAMPLE_SEED = 20240301
HOLIDAYS = tuple(
    date.fromisoformat(day)
    for day in (
        "2023-01-02", "2023-05-29", "2023-07-03", "2023-07-04", "2023-09-04", "2023-11-23", "2023-11-24",
        "2023-12-25", "2023-12-26", "2024-01-01", "2024-05-27", "2024-07-04", "2024-07-05", "2024-09-02",
        "2024-11-28", "2024-11-29", "2024-12-24", "2024-12-25", "2025-01-01",
    )
)  # fmt: skip
CHANGES = (
    SettingChange(
        "offices", date(2024, 6, 18), "hold_minutes", 30.0, 615, "delay lengthened after complaints"
    ),
    SettingChange("workshop", date(2024, 8, 12), "daylight_dimming", False, 640, "daylight sensor covered"),
    SettingChange("hall", date(2024, 10, 21), "scheduled_off", False, 130, "schedule lost in a power cut"),
    SettingChange("aisles", date(2024, 11, 19), "high_trim", 1.0, 545, "trim removed at a service visit"),
)


def sample_design() -> SiteDesign:
    """An invented works at 44.5 degrees north; 2023 before, March 2024 to February 2025 after."""
    return SiteDesign(
        name="Larkmoor Works (invented)",
        latitude=44.52,
        longitude=-89.57,
        timezone="America/Chicago",
        zones=sample_zones(),
        baseline=(date(2023, 1, 1), date(2023, 12, 31)),
        reporting=(date(2024, 3, 1), date(2025, 2, 28)),
        hours=(("mon-fri", "06:30-18:00"), ("sat", "07:00-13:00")),
        holidays=HOLIDAYS,
        quiet_weeks=tuple(
            (date(year, month, first), date(year, month, last))
            for year in (2023, 2024)
            for month, first, last in ((7, 1, 9), (12, 22, 31))
        ),
        persistence=0.6,
        cloudiness=0.55,
        mean_temperature_c=7.0,
        temperature_swing_c=15.0,
        changes=CHANGES,
        closures=(Closure("workshop", date(2024, 5, 13), date(2024, 5, 24)),),
        outages=(Outage(datetime(2024, 10, 21, 2, 10), 47),),
    )


def sample_meters() -> tuple[MeterDesign, ...]:
    """One meter a zone, each with a file of its own shape and its own troubles."""
    return (
        MeterDesign(
            "LP-1", ("workshop",), 5, "power", "W", 1.0, gain=1.004, time_style="utc", time_column="time",
            value_column="power (W)", compressed=True, study_keys=("quantity", "stamp"),
            faults=(
                FileFault("gap", datetime(2023, 4, 11, 9, 20), 31 * 60),
                FileFault("spike", datetime(2024, 6, 27, 14, 20), 5, 60.0),
                FileFault("text", datetime(2024, 9, 18, 10, 0), 25),
            ),
        ),
        MeterDesign(
            "LP-2", ("aisles",), 15, "energy", "kWh", 0.01, gain=0.997, time_style="month first",
            time_column="date/time", value_column="kWh", compressed=True,
            study_keys=("stamp", "clock", "date_order"),
            faults=(
                FileFault("duplicate", datetime(2023, 10, 3, 0, 0), 24 * 60),
                FileFault("gap", datetime(2024, 8, 29, 15, 0), 64 * 60),
            ),
        ),
        MeterDesign(
            "LP-3", ("offices",), 5, "energy", "Wh", 1.0, gain=1.006, stamp="end", time_style="day first",
            separator=";", decimal=",", time_column="end of interval", value_column="energy (Wh)",
            preamble=("Circuit;LP-3 offices", "Clock;site local time"), compressed=True,
            study_keys=("stamp", "clock", "date_order"),
            faults=(
                FileFault("gap", datetime(2023, 2, 8, 11, 5), 190),
                FileFault("duplicate", datetime(2024, 7, 9, 8, 0), 120),
                FileFault("text", datetime(2025, 1, 14, 9, 0), 10),
            ),
        ),
        MeterDesign(
            "LP-4", ("hall",), 15, "register", "kWh", 0.1, gain=1.0, time_style="iso offset",
            time_column="stamp", value_column="kWh_total", split_by_year=True, compressed=True,
            register_start=84310.4, study_keys=("quantity",),
            faults=(FileFault("gap", datetime(2024, 4, 24, 6, 0), 20 * 60),),
        ),
        MeterDesign(
            "LP-5", ("stairs",), 60, "energy", "kWh", 0.01, gain=1.002, time_style="iso offset",
            value_column="kWh", study_keys=("stamp",),
            faults=(FileFault("lump", datetime(2023, 8, 15, 2, 0), 6 * 60),),
        ),
        MeterDesign(
            "LP-6", ("perimeter",), 15, "energy", "kWh", 0.01, gain=0.995, time_style="iso local",
            time_column="interval start", value_column="kWh", study_keys=("stamp", "clock"),
            faults=(
                FileFault("spike", datetime(2023, 6, 20, 21, 45), 15, 45.0),
                FileFault("gap", datetime(2024, 12, 9, 16, 30), 5 * 60),
            ),
        ),
    )  # fmt: skip


INVENTORY = (
    ("Workshop floor", "workshop", 64, 288, 118, 4200, 0.55, 0.3, 0.95),
    ("Stores aisles", "aisles", 48, 216, 92, 4100, 0.65, 0.4, 0.90),
    ("Open office", "offices", 44, 112, 38, 3600, 0.50, 0.5, 0.85),
    ("Meeting rooms", "offices", 16, 112, 38, 3000, 0.55, 0.5, 0.60),
    ("Assembly hall", "hall", 36, 405, 168, 5400, 0.38, 0.6, 0.90),
    ("Stairs and corridor", "stairs", 40, 62, 24, 8760, 0.62, 0.4, 1.00),
    ("Egress luminaires on the stairs", "stairs", 5, 60, 24, 8760, 0.0, 0.0, 1.00),
    ("Perimeter poles", "perimeter", 22, 295, 98, 4380, 0.35, 0.5, 0.00),
)


def sample_extras() -> StudyExtras:
    """Prediction, programme and prices as an invented customer would have them."""
    event: Table = {
        "first": date(2024, 5, 13),
        "last": date(2024, 5, 24),
        "treatment": "set aside",
        "reason": "roof works, workshop closed (works order in the site file)",
        "meters": ["LP-1"],
    }
    return StudyExtras(
        title="Larkmoor Works: LED and controls, first year (invented sample)",
        predicted={"inventory": "inventory.csv"},
        peak={"months": [6, 7, 8], "hours": [14, 18], "weekdays_only": True, "source": "invented"},
        tariff={"currency": "USD", "energy_per_kwh": 0.14, "demand_per_kw_month": 9.5, "source": "invented"},
        incentive={
            "per_kwh": 0.12,
            "cap_fraction_of_cost": 0.5,
            "project_cost": 96000,
            "source": "invented",
        },
        events=(event,),
        claim=sample_claim(),
        notes=(
            "An INVENTED site, made by mv.simulate: no real place, people, products or measurements.",
            "What is not stated here is read from the files themselves.",
        ),
    )


README = """This folder holds an INVENTED site.

No place, person, product or measurement in it is real. Every file was computed by
the simulator in mv/simulate: people coming and going, sun and cloud, old lamps
switched by hand, new lamps under their controls, and meters with their errors.

  study.toml       the study: site, periods, meters, zones, what was agreed at hand-over
  meters/          one meter a zone, in six file shapes; gaps, doubled rows, spikes,
                   a catch-up lump, missing numbers and clock changes as they occur
  motion/          motion logs of four zones over the year after hand-over
  occupancy.csv    people on site, hour by hour, by an imperfect counter
  inventory.csv    the fixture list behind the predicted savings
  papers/          what a claim attaches: plan, circuit map, invoice and the like
  truth.json       THE ANSWER KEY: true savings, true settings, true dates of what
                   went wrong; known only because the site is invented. The product
                   does not read it.

Make it again, byte for byte (with the same numpy and zlib):

  python -m mv.simulate sample_meter_data
"""


def write_sample(folder: Path, *, seed: int = SAMPLE_SEED) -> SimulatedSite:
    """Write the sample study into a folder; returns the site behind it."""
    site = simulate_site(sample_design(), seed)
    write_whole(folder / "README.txt", README)
    write_whole(folder / "inventory.csv", table_text(INVENTORY_COLUMNS, INVENTORY))
    for name, text in sample_papers().items():
        write_whole(folder / name, text)
    write_study(
        site,
        folder,
        meters=sample_meters(),
        motion_zones=("workshop", "aisles", "offices", "hall"),
        motion_compressed=True,
        extras=sample_extras(),
        bridge=True,
    )
    return site

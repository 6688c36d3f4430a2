"""A study drafted from files holds what they say, and marks what only a person can tell."""

import tomllib
from pathlib import Path

import pandas as pd
import pytest

from mv.base.errors import OutputError, ReadingError
from mv.base.study_records import Study
from mv.cleaning import clean_meter
from mv.drafting.draft import write_new_study
from mv.drafting.text import FILL_IN
from mv.readers import read_meter

SITE = 'latitude = 41.9\nlongitude = -87.6\ntimezone = "America/Chicago"\n'


def meter_file(path: Path, year: int, *, head: str = "timestamp,kWh", months: int = 3) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    rows = [
        f"{year}-{month:02d}-{day:02d} {hour:02d}:00,{hour % 5}"
        for month in range(1, months + 1) for day in range(1, 29) for hour in range(24)
        if not (month == 3 and hour == 2)
    ]  # fmt: skip
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def filled(text: str) -> Study:
    """The draft with the three keys that every study needs."""
    lines = [
        line for line in text.splitlines() if not line.startswith(("# latitude", "# longitude", "# timezone"))
    ]
    at = lines.index("[site]")
    return Study.model_validate(tomllib.loads("\n".join([*lines[: at + 1], SITE, *lines[at + 1 :]])))


def test_a_file_before_and_one_after_are_one_meter(tmp_path):
    before = meter_file(tmp_path / "in" / "LP-1 before.csv", 2023)
    after = meter_file(tmp_path / "in" / "LP-1 after.csv", 2024)
    path = write_new_study(tmp_path / "study", [before], [after])
    study = filled(path.read_text())
    assert [meter.id for meter in study.meter] == ["LP-1"]
    assert study.meter[0].files == ("meters/LP-1 before.csv", "meters/LP-1 after.csv")
    assert str(study.periods.baseline.first) == "2023-01-01"
    assert str(study.periods.reporting.last) == "2024-03-28"


def test_a_filled_draft_reads_and_cleans(tmp_path):
    before = meter_file(tmp_path / "study" / "before.csv", 2023)
    after = meter_file(tmp_path / "study" / "data" / "after.csv", 2024)
    path = write_new_study(tmp_path / "study", [before], [after])
    study = filled(path.read_text())
    assert study.meter[0].files == ("before.csv", "data/after.csv")
    raw = read_meter(study.meter[0], path.parent, study.site.timezone)
    ledger = clean_meter(raw, study.meter[0], study).ledger
    assert ledger.rows_read == ledger.rows_used + sum(ledger.set_aside.values())
    assert ledger.rows_used > 0


def test_circuits_of_one_file_become_meters(tmp_path):
    head = "timestamp,hall (W),shop (W)"
    text = "\n".join(
        [head, *(f"2023-01-{d:02d} {h:02d}:00,{h},{2 * h}" for d in range(1, 9) for h in range(24))]
    )
    (tmp_path / "panel.csv").write_text(text)
    path = write_new_study(tmp_path / "study", [tmp_path / "panel.csv"], [])
    study = filled(path.read_text())
    assert [meter.value_column for meter in study.meter] == ["hall (W)", "shop (W)"]
    assert len({meter.id for meter in study.meter}) == 2


def test_what_a_file_does_not_say_is_marked(tmp_path):
    file = meter_file(tmp_path / "m.csv", 2023, head="when,value")
    text = write_new_study(tmp_path / "study", [file], []).read_text()
    marked = "\n".join(line for line in text.splitlines() if FILL_IN in line)
    assert "latitude" in marked
    assert "timezone" in marked
    assert "nothing says what the numbers measure" in marked
    filled(text)


def test_motion_occupancy_and_weather_files_find_their_place(tmp_path):
    meter = meter_file(tmp_path / "m.csv", 2023)
    (tmp_path / "motion hall.csv").write_text("time,state\n2023-01-10 08:00:00,1\n2023-01-10 08:10:30,0\n")
    (tmp_path / "weather.csv").write_text("time,temp_C\n2023-01-10 08:00,1\n2023-01-10 09:00,2\n")
    (tmp_path / "occupancy.csv").write_text("time,people\n2023-01-10 08:00,1\n2023-01-10 09:00,12\n")
    extra = [tmp_path / name for name in ("motion hall.csv", "weather.csv", "occupancy.csv")]
    text = write_new_study(tmp_path / "study", [meter], extra).read_text()
    study = filled(text)
    assert study.weather.files == ("meters/weather.csv",)
    assert study.occupancy.files == ("meters/occupancy.csv",)
    assert 'motion = ["meters/motion hall.csv"]' in text


def test_names_with_quotes_stay_valid(tmp_path):
    file = meter_file(tmp_path / 'pan"el\\1.csv', 2023)
    study = filled(write_new_study(tmp_path / "study", [file], []).read_text())
    assert study.meter[0].files == ('meters/pan"el\\1.csv',)


def test_nothing_is_overwritten(tmp_path):
    file = meter_file(tmp_path / "m.csv", 2023)
    write_new_study(tmp_path / "study", [file], [])
    with pytest.raises(OutputError, match="already"):
        write_new_study(tmp_path / "study", [file], [])


def test_a_file_that_cannot_be_read_is_named_and_nothing_is_written(tmp_path):
    (tmp_path / "letter.txt").write_text("Dear customer,\nyour data.\n")
    with pytest.raises(ReadingError, match=r"letter\.txt"):
        write_new_study(tmp_path / "study", [tmp_path / "letter.txt"], [])
    assert not (tmp_path / "study").exists()
    with pytest.raises(ReadingError, match="no such file"):
        write_new_study(tmp_path / "study", [tmp_path / "missing.csv"], [])


def offset_file(path: Path, first: str, days: int, *, zone: str) -> Path:
    """Hourly stamps of whole local days, each with its offset."""
    hours = pd.date_range(first, periods=days * 24, freq="h", tz=zone)
    rows = [f"{stamp.isoformat()},{n % 5}" for n, stamp in enumerate(hours)]
    path.write_text("\n".join(["timestamp,kWh", *rows]) + "\n")
    return path


@pytest.mark.parametrize(
    ("zone", "first", "last"),
    [
        ("-06:00", "2023-11-01", "2023-11-30"),
        ("+09:30", "2023-11-01", "2023-11-30"),
        ("UTC", "2023-11-01", "2023-11-30"),
    ],
)
def test_the_days_are_those_of_the_offset_that_the_stamps_state(tmp_path, zone, first, last):
    before = offset_file(tmp_path / "before.csv", "2023-11-01", 30, zone=zone)
    after = offset_file(tmp_path / "after.csv", "2024-02-01", 20, zone=zone)
    text = write_new_study(tmp_path / "study", [before], [after]).read_text()
    study = filled(text)
    assert (str(study.periods.baseline.first), str(study.periods.baseline.last)) == (first, last)
    assert str(study.periods.reporting.last) == "2024-02-20"
    assert ("stamps are in UTC" in text) == (zone == "UTC")


def test_a_file_without_its_unit_still_tells_its_days(tmp_path):
    before = meter_file(tmp_path / "before.csv", 2023, head="when,value")
    after = meter_file(tmp_path / "after.csv", 2024, head="when,value")
    text = write_new_study(tmp_path / "study", [before], [after]).read_text()
    assert text.count("nothing says what the numbers measure") == 2
    study = filled(text)
    assert str(study.periods.baseline.first) == "2023-01-01"
    assert str(study.periods.reporting.last) == "2024-03-28"


def ids(path: Path) -> dict[str, int]:
    """Each drafted meter's id and the number of its files."""
    return {meter["id"]: len(meter["files"]) for meter in tomllib.loads(path.read_text())["meter"]}


@pytest.mark.parametrize(
    ("before", "after", "wanted"),
    [
        (["shop_before"], ["after-2024-02", "after-2024-03"], {"shop": 3}),
        (["2023-01 hall north", "hall north 2023"], ["north_hall_after"], {"hall north": 3}),
        (["Halle_vorher"], ["Halle_nachher"], {"Halle": 2}),
        (["school_2022H2", "school_2023H1"], ["school 2024 Q1"], {"school": 3}),
        (["avant"], ["apres"], {"meter": 2}),
        (["depot feed"], ["new lamps"], {"meter": 2}),
        (["depot old LP-1"], ["LP-1 main"], {"LP 1": 2}),
        (["A before", "B before"], ["B after", "A after"], {"A": 2, "B": 2}),
    ],
)
def test_a_meter_is_named_by_what_its_files_names_share(tmp_path, before, after, wanted):
    sides = [
        [meter_file(tmp_path / f"{name}.csv", year, months=1) for name in names]
        for names, year in ((before, 2023), (after, 2024))
    ]
    assert ids(write_new_study(tmp_path / "study", *sides)) == wanted


def test_exchanged_sides_are_told_and_nothing_is_written(tmp_path):
    early, late = meter_file(tmp_path / "a.csv", 2023), meter_file(tmp_path / "b.csv", 2024)
    with pytest.raises(ReadingError, match="the two look exchanged") as told:
        write_new_study(tmp_path / "study", [late], [early])
    assert "2024-01-01 to 2024-03-28" in str(told.value) and "2023-01-01" in str(told.value)
    assert not (tmp_path / "study").exists()
    assert write_new_study(tmp_path / "study", [early], [late]).exists()


def test_the_title_is_marked_to_fill_in(tmp_path):
    text = write_new_study(tmp_path / "study", [meter_file(tmp_path / "m.csv", 2023)], []).read_text()
    (title,) = (line for line in text.splitlines() if line.startswith("title ="))
    assert FILL_IN in title


def test_dated_notes_that_are_padded_to_the_width_of_the_table_are_no_readings(tmp_path):
    """A logger's export: notes above the heading, each line with as many separators as the table has."""
    stamps = pd.date_range("2024-02-01", periods=600, freq="5min")
    rows = [f"{stamp:%d/%m/%Y %H:%M};{n % 7},{n % 10};12,{n % 9}" for n, stamp in enumerate(stamps)]
    notes = ["Logger: invented 42;;", "Started:;2024-02-01;", "Stopped:;2024-02-03;"]
    (tmp_path / "log.csv").write_text("\n".join([*notes, "Date/Time;Avg kW;Battery V", *rows]) + "\n")
    (meter,) = filled(write_new_study(tmp_path / "study", [tmp_path / "log.csv"], []).read_text()).meter
    raw = read_meter(meter, tmp_path / "study", "America/Chicago").files[0]
    assert len(raw.start) == len(rows)
    assert "kW: from the heading 'Avg kW'" in raw.inferred["quantity"]

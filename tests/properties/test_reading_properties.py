"""What must hold for every file: the energy does not depend on how it is written, and nothing crashes."""

import gzip
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from mv.base.errors import InputError
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Occupancy, Site, Study, Weather, Zone
from mv.cleaning import clean_meter
from mv.readers import read_meter, read_motion, read_occupancy, read_weather

MANY = settings(max_examples=25, deadline=None, derandomize=True,
                suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])  # fmt: skip
ZONES = ("America/Chicago", "Europe/London", "Asia/Kolkata", "Australia/Lord_Howe", "America/St_Johns", "UTC")
# Multiples of 1/8 kWh are exact in binary, so that sums compare exactly.
READINGS = st.lists(st.integers(0, 80).map(lambda n: n / 8), min_size=8, max_size=60)


def clean(texts: dict[str, str | bytes], zone: str = "UTC", **keys: object) -> MeterSeries:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in texts.items():
            (folder / file).write_bytes(text if isinstance(text, bytes) else text.encode())
        meter = Meter.model_validate({"id": "m", "files": list(texts), **keys})
        study = Study(format=1, site=Site(latitude=0.0, longitude=0.0, timezone=zone), meter=(meter,))
        series = clean_meter(read_meter(meter, folder, zone), meter, study)
    check_ledger(series)
    return series


def check_ledger(series: MeterSeries) -> None:
    ledger = series.ledger
    assert ledger.rows_read == ledger.rows_used + sum(ledger.set_aside.values())
    assert ledger.rows_read == sum(file.rows_read for file in ledger.files)
    assert ledger.inferred
    used = series.energy_kwh.sum() - ledger.energy_filled_kwh
    assert ledger.energy_used_kwh == pytest.approx(used, rel=1e-9, abs=1e-9)
    assert len(series.energy_kwh) == len(series.estimated)


def stamps(count: int, zone: str, first: datetime, minutes: int = 15) -> list[datetime]:
    return [(first + timedelta(minutes=minutes * n)).astimezone(ZoneInfo(zone)) for n in range(count)]


def table(times: list[datetime], values: list[float], *, head: str = "time,energy_kWh") -> str:
    rows = (f"{time.isoformat()},{value}" for time, value in zip(times, values, strict=True))
    return "\n".join([head, *rows]) + "\n"


MOMENTS = st.datetimes(datetime(1995, 1, 1), datetime(2035, 12, 1), timezones=st.just(UTC)).map(
    lambda moment: moment.replace(minute=0, second=0, microsecond=0)
)


@MANY
@given(values=READINGS, first=MOMENTS, zone=st.sampled_from(ZONES))
def test_the_zone_a_stamp_is_written_in_never_changes_the_series(values, first, zone):
    here = clean({"a.csv": table(stamps(len(values), zone, first), values)})
    there = clean({"a.csv": table(stamps(len(values), "UTC", first), values)})
    assert here.energy_kwh.equals(there.energy_kwh)
    assert here.ledger.energy_used_kwh == sum(values)


@MANY
@given(values=READINGS, first=MOMENTS, order=st.randoms(use_true_random=False))
def test_the_order_of_rows_never_changes_the_series(values, first, order):
    times = stamps(len(values), "UTC", first)
    rows = list(zip(times, values, strict=True))
    plain = clean({"a.csv": table(times, values)})
    order.shuffle(rows)
    mixed = clean({"a.csv": table([time for time, _ in rows], [value for _, value in rows])})
    assert mixed.energy_kwh.equals(plain.energy_kwh)


UNITS = {"Wh": 1000.0, "kWh": 1.0, "kW": 4.0, "W": 4000.0, "MWh": 0.0009765625}  # exact in binary


@MANY
@given(values=READINGS, first=MOMENTS, unit=st.sampled_from(sorted(UNITS)))
def test_the_unit_never_changes_the_energy(values, first, unit):
    written = [value * UNITS[unit] for value in values]
    there = clean({"a.csv": table(stamps(len(values), "UTC", first), written, head=f"time,x ({unit})")})
    meant = sum(values) * (0.9765625 if unit == "MWh" else 1.0)
    assert there.ledger.energy_used_kwh == pytest.approx(meant, rel=1e-12)


@MANY
@given(values=READINGS, first=MOMENTS, times_over=st.integers(2, 4))
def test_repeating_every_row_never_changes_the_energy(values, first, times_over):
    times = stamps(len(values), "UTC", first)
    series = clean({"a.csv": table(times * times_over, values * times_over)})
    assert series.ledger.energy_used_kwh == sum(values)
    assert series.ledger.set_aside == {"exact duplicate": (times_over - 1) * len(values)}


@MANY
@given(
    values=READINGS, first=MOMENTS, cut=st.integers(3, 57), overlap=st.integers(0, 3), packed=st.booleans()
)
def test_splitting_into_files_never_changes_the_series(values, first, cut, overlap, packed):
    assume(3 <= cut <= len(values) - 3)
    times = stamps(len(values), "UTC", first)
    whole = clean({"a.csv": table(times, values)}, interval_minutes=15.0)
    begin = max(cut - overlap, 0)
    second: str | bytes = table(times[begin:], values[begin:])
    if packed:
        second = gzip.compress(second.encode())
    parts = clean({"a.csv": table(times[:cut], values[:cut]), "b.csv": second}, interval_minutes=15.0)
    assert parts.energy_kwh.equals(whole.energy_kwh)
    assert sum(parts.ledger.set_aside.values()) == cut - begin


@MANY
@given(values=READINGS, first=MOMENTS, start=st.integers(0, 10**6))
def test_a_register_gives_the_energy_it_counts(values, first, start):
    assume(sum(values) > 0)
    counts = [start + sum(values[:n]) for n in range(len(values) + 1)]
    times = stamps(len(counts), "UTC", first)
    series = clean({"a.csv": table(times, counts)}, quantity="register")
    assert series.energy_kwh.sum() == pytest.approx(sum(values), rel=1e-9, abs=1e-6)


@MANY
@given(values=READINGS, day=st.dates(datetime(2000, 1, 1).date(), datetime(2035, 1, 1).date()),
       zone=st.sampled_from(ZONES))  # fmt: skip
def test_local_stamps_of_any_date_keep_the_energy_in_any_zone(values, day, zone):
    first = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    times = stamps(len(values), zone, first)
    rows = [f"{time:%d/%m/%Y %H:%M},{value}" for time, value in zip(times, values, strict=True)]
    series = clean({"a.csv": "\n".join(["time,kWh", *rows])}, zone, date_order="day first", clock="site")
    assert series.ledger.energy_used_kwh == sum(values)
    read = series.energy_kwh[series.energy_kwh.notna()]
    assert list(read.index) == [time.astimezone(UTC) for time in times]


def attempt(data: bytes, name: str) -> None:
    """Reading anything as anything ends with a series and its ledger, or with one of our errors."""
    with tempfile.TemporaryDirectory() as folder_name:
        folder = Path(folder_name)
        (folder / name).write_bytes(data)
        for keys in ({}, {"quantity": "energy", "unit": "kWh", "date_order": "day first", "clock": "UTC"}):
            meter = Meter.model_validate({"id": "m", "files": [name], **keys})
            site = Site(latitude=0.0, longitude=0.0, timezone="America/Chicago")
            study = Study(format=1, site=site, meter=(meter,))
            try:
                check_ledger(clean_meter(read_meter(meter, folder, "America/Chicago"), meter, study))
            except InputError as error:
                assert str(error)
        for read in (
            lambda: read_motion(Zone(id="z", motion=(name,)), folder, "America/Chicago"),
            lambda: read_occupancy(Occupancy(files=(name,)), folder, "America/Chicago"),
            lambda: read_weather(Weather(files=(name,)), folder, "America/Chicago"),
        ):
            try:
                ledger = read().ledger
                assert ledger.rows_read == ledger.rows_used + sum(ledger.set_aside.values())
            except InputError as error:
                assert str(error)


@MANY
@given(data=st.binary(max_size=600), name=st.sampled_from(["a.csv", "a.xlsx", "a.zip", "a.csv.gz", "a.xml"]))
def test_random_bytes_are_read_or_refused(data, name):
    attempt(data, name)


@MANY
@given(
    data=st.binary(max_size=200),
    magic=st.sampled_from([b"PK\x03\x04", b"\x1f\x8b\x08", b"\xff\xfe", b"<feed espi ", b"100,NEM12,\n200,"]),
)
def test_random_bytes_behind_a_known_beginning_are_read_or_refused(data, magic):
    attempt(magic + data, "a.csv")


ODD_CELLS = """
0|1|1.5|-3|1e308|nan|inf|-|2024-01-10 00:00|2024-01-10 00:15|10/01/2024|24:00|00:00|1704866400|45301.5|kWh|W
Total|time|on|off|"|'|=|é|9999|2024-13-45 99:99|1,5|1.234,5|999999999999999999999|0015|H01|-9999|2199-12-31
"""
CELLS = st.sampled_from(["", "\x00", *ODD_CELLS.strip().replace("\n", "|").split("|")])


@settings(MANY, max_examples=50)
@given(rows=st.lists(st.lists(CELLS, max_size=6), max_size=12), mark=st.sampled_from(",;\t|"))
def test_tables_of_odd_cells_are_read_or_refused(rows, mark):
    attempt("\n".join(mark.join(row) for row in rows).encode(), "a.csv")


CORPUS = sorted((Path(__file__).parents[1] / "readers" / "corpus").glob("*.*"))


@settings(MANY, max_examples=60)
@given(file=st.sampled_from(CORPUS), data=st.data())
def test_mutated_files_are_read_or_refused(file, data):
    content = bytearray(file.read_bytes()[:4000])
    assume(len(content) > 4)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        kind = data.draw(st.integers(0, 3))
        if kind == 0:
            content[at] = data.draw(st.integers(0, 255))
        elif kind == 1:
            del content[at : at + data.draw(st.integers(1, 20))]
        elif kind == 2:
            content[at:at] = content[: data.draw(st.integers(1, 40))]
        else:
            content[at:at] = data.draw(st.binary(max_size=8))
        assume(len(content) > 4)
    attempt(bytes(content), file.name)


def test_a_zip_bomb_is_refused():
    import io
    import zipfile

    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", "time,kWh\n2024-01-10 00:00,1\n" + "\n" * 120_000_000)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "a.zip").write_bytes(packed.getvalue())
        with pytest.raises(InputError, match="unpacks to far more"):
            read_meter(Meter(id="m", files=("a.zip",)), Path(folder), "UTC")


def test_xml_entities_are_refused_unread():
    bomb = (
        '<?xml version="1.0"?><!DOCTYPE f [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
        '<feed espi="x"><IntervalReading>&b;</IntervalReading></feed>'
    )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "a.xml").write_text(bomb)
        with pytest.raises(InputError, match="entities"):
            read_meter(Meter(id="m", files=("a.xml",)), Path(folder), "UTC")


def test_a_cell_of_megabytes_is_read_past_or_refused():
    rows = ["time,kWh", "2024-01-10 00:00,1", f"2024-01-10 00:15,{'9' * 3_000_000}", "2024-01-10 00:30,1"]
    attempt("\n".join(rows).encode(), "a.csv")
    attempt(("x" * 5_000_000).encode(), "a.csv")
    assert np.isfinite(1.0)

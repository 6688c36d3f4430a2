"""What reading and cleaning cost: CPU against plain pandas, and memory for 20 million rows.

Run by hand: python tests/benchmarks/bench_reading.py [--rows 20000000]
Prints a table. Plain pandas is `pandas.read_csv(path, parse_dates=[0])`: no check, no clock, no ledger.
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from mv.base.meter_records import Meter
from mv.base.study_records import Periods, Site, Span, Study
from mv.cleaning import clean_meter
from mv.readers import read_meter

REPEATS = 25
TIMEZONE = "America/Chicago"


def write_two_years(path: Path, style: str) -> None:
    """Two years of quarter hours of an invented lighting load, in one of several usual styles."""
    utc = pd.date_range("2023-01-01 06:00", "2025-01-01 06:00", freq="15min", tz="UTC", inclusive="left")
    local = utc.tz_convert(TIMEZONE)
    rng = np.random.default_rng(7)
    on = (local.hour >= 7) & (local.hour < 21)
    kwh = np.round(np.where(on, 6.0, 0.4) + rng.normal(0, 0.05, len(utc)), 3)
    if style == "iso":
        rows = [f"{t:%Y-%m-%d %H:%M:%S},{v}\n" for t, v in zip(local, kwh, strict=True)]
    elif style == "iso with offset":
        rows = [f"{t.isoformat()},{v}\n" for t, v in zip(local, kwh, strict=True)]
    elif style == "month first":
        rows = [f"{t:%m/%d/%Y %I:%M %p},{v}\n" for t, v in zip(local, kwh, strict=True)]
    else:
        rows = [f"{t:%d.%m.%Y %H:%M};{str(v).replace('.', ',')}\n" for t, v in zip(local, kwh, strict=True)]
    head = "timestamp;kWh\n" if style == "day first" else "timestamp,kWh\n"
    path.write_text(head + "".join(rows))


def plain_pandas(path: Path, style: str) -> pd.DataFrame:
    """The same file by pandas alone, dates parsed."""
    if style == "day first":
        return pd.read_csv(path, sep=";", decimal=",", parse_dates=[0], date_format="%d.%m.%Y %H:%M")
    if style == "month first":
        return pd.read_csv(path, parse_dates=[0], date_format="%m/%d/%Y %I:%M %p")
    return pd.read_csv(path, parse_dates=[0])


def cpu_ms(*works: Callable[[], object]) -> list[float]:
    """Least CPU time of each work, ms, run in turns so that a busy machine treats them alike."""
    best = [float("inf")] * len(works)
    for _ in range(REPEATS):
        for number, work in enumerate(works):
            begin = time.process_time()
            work()
            best[number] = min(best[number], time.process_time() - begin)
    return [seconds * 1e3 for seconds in best]


def study_of(path: Path) -> Study:
    """A study with one meter and two periods around the file's years."""
    return Study(
        format=1,
        site=Site(latitude=44.5, longitude=-89.6, timezone=TIMEZONE),
        meter=(Meter(id="LP-1", files=(path.name,)),),
        periods=Periods(
            baseline=Span(first="2023-01-01", last="2023-12-31"),
            reporting=Span(first="2024-03-01", last="2024-12-31"),
        ),
    )


def compare_cpu(folder: Path) -> None:
    """CPU of reading and cleaning against plain pandas, a row a style."""
    print(f"{'two years of quarter hours':<28}{'pandas ms':>10}{'here ms':>9}{'ratio':>7}")
    for style in ("iso", "iso with offset", "month first", "day first"):
        path = folder / f"{style.replace(' ', '-')}.csv"
        write_two_years(path, style)
        study = study_of(path)
        meter = study.meter[0]

        def here(meter: Meter = meter, study: Study = study) -> object:
            return clean_meter(read_meter(meter, folder, TIMEZONE), meter, study)

        def there(path: Path = path, style: str = style) -> object:
            return plain_pandas(path, style)

        here(), there()
        ours, plain = cpu_ms(here, there)
        print(f"{style:<28}{plain:>10.1f}{ours:>9.1f}{ours / plain:>7.2f}")


def write_minutes(path: Path, rows: int) -> None:
    """One-minute rows in one file, written in blocks."""
    rng = np.random.default_rng(3)
    first = np.datetime64("1990-01-01T00:00", "m")
    with path.open("w") as stream:
        stream.write("time (UTC),energy (Wh)\n")
        for at in range(0, rows, 500_000):
            count = min(500_000, rows - at)
            stamps = np.datetime_as_string(first + np.arange(at, at + count))
            values = rng.integers(0, 900, count)
            stream.write("\n".join(f"{t.replace('T', ' ')},{v}" for t, v in zip(stamps, values, strict=True)))
            stream.write("\n")


def peak_memory(path: Path) -> None:
    """Read and clean the file in a process of its own; prints its seconds and greatest memory."""
    begin = time.process_time()
    study = Study(
        format=1,
        site=Site(latitude=44.5, longitude=-89.6, timezone=TIMEZONE),
        meter=(Meter(id="m", files=(path.name,)),),
    )
    series = clean_meter(read_meter(study.meter[0], path.parent, TIMEZONE), study.meter[0], study)
    seconds = time.process_time() - begin
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{series.ledger.rows_used:,} one-minute rows: {seconds:.1f} s CPU, {megabytes:,.0f} MB at most")


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=20_000_000)
    parser.add_argument("--peak", type=Path)
    arguments = parser.parse_args()
    if arguments.peak:
        peak_memory(arguments.peak)
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        compare_cpu(folder)
        if arguments.rows:
            path = folder / "minutes.csv"
            write_minutes(path, arguments.rows)
            subprocess.run([sys.executable, __file__, "--peak", str(path)], check=True)


if __name__ == "__main__":
    main()

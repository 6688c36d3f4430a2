"""A meter's files, read: each layout by its own reader, then settled together."""

from collections.abc import Sequence
from pathlib import Path

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.raw import RawFile, RawMeter
from mv.readers.days_across import FEWEST_DAYS, read_days_across
from mv.readers.green_button import is_green_button, read_green_button
from mv.readers.joined_times import with_joined_times, with_month_dates
from mv.readers.layout import Layout, find_layout, lines_of
from mv.readers.long_table import read_long
from mv.readers.nem12 import is_nem12, read_nem12
from mv.readers.other_kinds import refuse_other_kinds
from mv.readers.outside import outside_remarks, unquoted
from mv.readers.parquet import is_parquet, read_parquet
from mv.readers.parsed import Parsed
from mv.readers.settle import settle
from mv.readers.source import HEAD_BYTES, Source, files_of, is_workbook, open_sources
from mv.readers.wanted import Wanted
from mv.readers.wide_table import find_day_row, read_wide
from mv.readers.workbook import read_sheets


def read_meter(meter: Meter, folder: Path, site_timezone: str) -> RawMeter:
    """Every reading of the meter's files, on UTC, with what was inferred and what could not be read.

    Raises ReadingError where a file cannot be read without guessing.
    """
    paths = files_of(meter.files, folder, key=f"[[meter]] id = {meter.id!r}, files")
    with unquoted(paths, folder):
        files = read_files(paths, Wanted.of_meter(meter, site_timezone))
    return RawMeter(meter.id, tuple(files), outside_remarks(paths, folder))


def read_files(paths: Sequence[Path], wanted: Wanted) -> list[RawFile]:
    """The files read and settled, in the order of their first reading."""
    parsed = [found for path in paths for found in parse_file(path, wanted)]
    files = settle(parsed, wanted)
    if not any(len(file.start) for file in files):
        raise ReadingError(
            "no reading could be read",
            file=", ".join(path.name for path in paths[:5]),
            value="; ".join(sorted({reason for file in files for reason in file.unreadable})) or None,
            remedy=f"Check time_column, value_column and channel in {wanted.table}.",
        )
    return sorted(files, key=lambda file: int(file.start.min()) if len(file.start) else 0)


def parse_file(path: Path, wanted: Wanted) -> list[Parsed]:
    """One file by the reader its content calls for."""
    try:
        sources = _sources(path, wanted)
    except OSError as error:
        raise ReadingError(
            "cannot be opened", file=path, value=error.strerror or str(error), remedy="Check the path."
        ) from error
    return [parse_source(source, wanted) for source in sources]


def _sources(path: Path, wanted: Wanted) -> list[Source]:
    """The file's text tables, by its content, whatever its name."""
    if is_workbook(path):
        return read_sheets(path, wanted)
    return [read_parquet(path)] if is_parquet(path) else open_sources(path)


def parse_source(source: Source, wanted: Wanted) -> Parsed:
    """One text table by the reader its content calls for."""
    text = source.head_text()
    if is_nem12(text):
        return read_nem12(source, wanted)
    if is_green_button(text):
        return read_green_button(source, wanted)
    if text.lstrip().startswith("<"):
        raise ReadingError(
            "is XML or HTML, but not ESPI (Green Button)",
            file=source.name,
            place="line 1",
            value=text.lstrip()[:60],
            remedy="Export the readings as CSV, as a workbook or as Green Button.",
        )
    refuse_other_kinds(text, file=source.name)
    source = with_joined_times(source) or source
    layout = _layout_of(source)
    if layout is None or layout.width > FEWEST_DAYS:
        across = read_days_across(source, wanted)
        if across is not None:
            return across
    if layout is None:
        source = with_month_dates(source) or source
        layout = _layout_of(source)
    if layout is None:
        raise ReadingError(
            "holds no line with a date or time and a number",
            file=source.name,
            place="line 1",
            value=text.lstrip().splitlines()[0][:80] if text.strip() else None,
            remedy="Export the readings as a table with a time and a value in each row.",
        )
    day = find_day_row(layout)
    return read_wide(source, layout, day, wanted) if day else read_long(source, layout, wanted)


def _layout_of(source: Source) -> Layout | None:
    return find_layout(lines_of(source.head_text(), complete=len(source.head) < HEAD_BYTES))

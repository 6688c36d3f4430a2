"""Workbooks: each sheet becomes a tab-separated text with one line a row, then read like any table."""

import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from mv.base.errors import ReadingError
from mv.readers.layout import find_layout, lines_of
from mv.readers.source import HEAD_BYTES, Source
from mv.readers.wanted import Wanted
from mv.readers.words import plain

MAX_COLUMNS = 2000
MAX_CELLS = 60_000_000


def read_sheets(path: Path, wanted: Wanted) -> list[Source]:
    """The sheets that hold readings (or the one that `channel` names), as text tables."""
    import openpyxl

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError, EOFError, SyntaxError) as error:
        raise _broken(path, error) from error
    except Exception as error:  # openpyxl lets its XML parser's errors through
        raise _broken(path, error) from error
    try:
        sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"] or book.worksheets
        named = [sheet for sheet in sheets if wanted.channel and plain(sheet.title) == plain(wanted.channel)]
        sources = [_sheet(path, sheet) for sheet in (named or sheets)]
    except Exception as error:
        if isinstance(error, ReadingError):
            raise
        raise _broken(path, error) from error
    finally:
        book.close()
    found = [source for source in sources if source.head.strip() and _has_layout(source)]
    if not found:
        raise ReadingError(
            "holds no sheet with dates and numbers",
            file=path,
            value=", ".join(sheet.title for sheet in sheets[:8]),
            remedy="Check that the readings are values, not pictures, and that formulas were saved with "
            "results.",
        )
    return found


def _broken(path: Path, error: Exception) -> ReadingError:
    return ReadingError(
        "is not a workbook that can be opened",
        file=path,
        value=str(error)[:80] or type(error).__name__,
        remedy="Open it, save it again as .xlsx without a password, or as CSV.",
    )


def _has_layout(source: Source) -> bool:
    return find_layout(lines_of(source.head_text(), complete=len(source.head) < HEAD_BYTES)) is not None


def _sheet(path: Path, sheet: Any) -> Source:
    data = "\n".join(_lines(path, sheet)).encode("utf-8")
    return Source(path, f"{path.name}/{sheet.title}", None, "utf-8", data[:HEAD_BYTES], data=data)


def _lines(path: Path, sheet: Any) -> Iterator[str]:
    cells = 0
    for row in sheet.iter_rows(values_only=True):
        cells += len(row)
        if len(row) > MAX_COLUMNS or cells > MAX_CELLS:
            raise ReadingError(
                "is larger than a meter's sheet", file=path, place=f"sheet {sheet.title!r}",
                remedy="Save the readings alone, or as CSV.",
            )  # fmt: skip
        texts = [_text(cell) for cell in row]
        while texts and not texts[-1]:
            texts.pop()
        yield "\t".join(texts)


def _text(cell: object) -> str:
    """A cell as a file would write it; stamps are rounded to the second, as day fractions are not exact."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        rounded = cell + timedelta(microseconds=500_000)
        return rounded.strftime("%Y-%m-%d %H:%M:%S") if rounded.year >= 1000 else ""
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time):
        return cell.strftime("%H:%M:%S")
    if isinstance(cell, timedelta):
        seconds = round(cell.total_seconds())
        return f"{seconds // 3600:02d}:{seconds % 3600 // 60:02d}:{seconds % 60:02d}"
    if isinstance(cell, float):
        return repr(cell)
    return str(cell).replace("\t", " ").replace("\n", " ").replace("\r", " ").replace('"', "'").strip()

"""The readings of a delimited table, column by column, in chunks that bound the memory."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.even_lines import read_even_lines
from mv.readers.further_down import quoted_below
from mv.readers.layout import Layout
from mv.readers.moments import first_bytes, moments
from mv.readers.numbers import Marks, numbers_of, units_of_cells
from mv.readers.roles import TimeColumns
from mv.readers.source import Source
from mv.readers.stamp_record import Stamps, joined_stamps
from mv.readers.stamps import read_stamp_matrix

CHUNK_ROWS = 1_000_000


WHOLE_BYTES = 32 * 1024**2  # a plain file up to this size is read in one piece


MAX_ROWS = 120_000_000  # more does not fit in memory; a file of this size is not a meter's


_EXTRA_WIDTH = 4  # characters a stamp may be longer further down than in the sample


_GREATEST_WIDTH = 90  # of a stamp; longer cells are cut and so not readable


@dataclass
class Body:
    """Columns of equal length: `lines` 1-based; `texts` word columns as codes into their words."""

    lines: NDArray[np.int32]
    start: Stamps | None
    end: Stamps | None
    values: list[NDArray[np.float64]]
    texts: dict[int, tuple[NDArray[np.int32], list[str]]]
    blank: NDArray[np.bool_]
    cell_units: list[tuple[NDArray[np.int8], list[str]]] | None = None  # of the first value column


def read_body(
    source: Source,
    layout: Layout,
    start: TimeColumns | None,
    end: TimeColumns | None,
    values: tuple[int, ...],
    texts: tuple[int, ...],
    marks: Marks,
) -> Body:
    """Read the named columns of the whole file."""
    if start is not None and end is None and layout.width == 2 and not texts and not layout.quoted:
        even = _even(source, layout, start, values, marks)
        if even is not None:
            return even
    if not layout.quoted:
        layout = replace(layout, quoted=quoted_below(source, layout))
    margin, blanks = _EXTRA_WIDTH, False
    while True:
        parts = []
        for frame in _frames(source, layout, start, end, values, texts, marks, margin, blanks):
            if margin < _GREATEST_WIDTH and _cut_off(frame):
                margin = _GREATEST_WIDTH  # a stamp is longer than the sample let expect
                break
            if not blanks and any(frame[column].dtype.kind not in "fiub" for column in values):
                blanks = True  # empty cells: looking for them costs, so only once one is met
                break
            parts.append(_part(frame, start, end, values, texts, marks, layout))
        else:
            return parts[0] if len(parts) == 1 else _joined(parts, texts)


def _even(
    source: Source, layout: Layout, start: TimeColumns, values: tuple[int, ...], marks: Marks
) -> Body | None:
    """The quick way for a plain file of a stamp and a number; None where it does not fit."""
    lengths = {len(row[0]) for row in layout.rows if row}
    if len(lengths) != 1 or (start.date, start.clock, start.form, values) != (0, None, "text", (1,)):
        return None
    if marks.thousands or len(layout.delimiter) != 1 or layout.rows[0][0][0] in "'=":
        return None
    read = read_even_lines(
        source,
        first_line=layout.body_line,
        stamp_length=lengths.pop(),
        delimiter=layout.delimiter,
        decimal=marks.decimal,
    )
    if read is None:
        return None
    count = len(read[1])
    lines = np.arange(layout.body_line, layout.body_line + count, dtype=np.int32)
    return Body(lines, read_stamp_matrix(read[0]), None, [read[1]], {}, np.zeros(count, bool))


def _cut_off(frame: pd.DataFrame) -> bool:
    """True where a cell of fixed width fills its width, so that more may have stood there."""
    for column in frame.columns:
        array = frame[column].to_numpy()
        fixed = array.dtype.kind == "S" and len(array) > 0
        if fixed and array.view(np.uint8).reshape(len(array), -1)[:, -1].any():
            return True
    return False


def _frames(
    source: Source,
    layout: Layout,
    start: TimeColumns | None,
    end: TimeColumns | None,
    values: tuple[int, ...],
    texts: tuple[int, ...],
    marks: Marks,
    margin: int,
    blanks: bool,
) -> Iterator[pd.DataFrame]:
    times = [(column, time) for time in (start, end) if time for column in time.all]
    dtype: dict[int, Any] = {
        column: f"S{_width(layout, column, margin)}"
        for column, time in times
        if time.form == "text" or (time.form in ("hour", "hhmm", "hhmmss") and column == time.date)
    }
    dtype |= dict.fromkeys(texts, "category")
    columns = sorted({column for column, _ in times} | set(values) | set(texts))
    options: dict[str, Any] = {
        "sep": layout.delimiter,
        "header": None,
        "names": list(range(layout.width)),
        "usecols": columns,
        "dtype": dtype,
        "skiprows": layout.body_line - 1,
        "skip_blank_lines": False,
        "quoting": 0 if layout.quoted else 3,
        "decimal": marks.decimal,
        "thousands": marks.thousands,
        "encoding": "cp1252" if source.encoding == "cp1252" else "utf-8",
        "encoding_errors": "replace",
        "na_filter": blanks,
        "low_memory": False,
        "skipinitialspace": True,
        "engine": "c",
    }
    try:
        yield from _chunks(source, options)
    except pd.errors.ParserError as error:
        if "EOF inside string" not in str(error) and "quot" not in str(error).lower():
            raise _unreadable(source, error) from error
        try:
            yield from _chunks(source, {**options, "quoting": 3})
        except pd.errors.ParserError as again:
            raise _unreadable(source, again) from again


def _chunks(source: Source, options: dict[str, Any]) -> Iterator[pd.DataFrame]:
    count = 0
    small = source.plain_bytes is not None and source.plain_bytes < WHOLE_BYTES
    with source.stream() as stream:
        try:
            if small:
                yield pd.read_csv(stream, **options)
                return
            with pd.read_csv(stream, chunksize=CHUNK_ROWS, **options) as reader:
                for frame in reader:
                    count += len(frame)
                    if count > MAX_ROWS:
                        raise ReadingError(
                            "has more rows than can be read",
                            file=source.name,
                            value=f"over {MAX_ROWS}",
                            remedy="Split the file.",
                        )
                    yield frame
        except pd.errors.EmptyDataError:
            return
        except (UnicodeError, OverflowError, MemoryError, ValueError, LookupError) as error:
            if isinstance(error, ReadingError | pd.errors.ParserError):
                raise
            raise _unreadable(source, error) from error


def _unreadable(source: Source, error: Exception) -> ReadingError:
    return ReadingError(
        "cannot be read as a table",
        file=source.name,
        value=str(error).splitlines()[0][:120],
        remedy="Export it again as CSV; if cells hold quotes or line breaks, leave them out.",
    )


def _width(layout: Layout, column: int, margin: int) -> int:
    longest = max((len(row[column].encode()) for row in layout.rows if column < len(row)), default=10)
    return (
        min(longest + margin + 3, _GREATEST_WIDTH)
        if layout.quoted
        else min(longest + margin, _GREATEST_WIDTH)
    )


def _part(
    frame: pd.DataFrame,
    start: TimeColumns | None,
    end: TimeColumns | None,
    values: tuple[int, ...],
    texts: tuple[int, ...],
    marks: Marks,
    layout: Layout,
) -> Body:
    first = layout.body_line + int(frame.index[0]) if len(frame) else layout.body_line
    return Body(
        lines=np.arange(first, first + len(frame), dtype=np.int32),
        start=moments(frame, start) if start else None,
        end=moments(frame, end) if end else None,
        values=[_floats(frame[column], marks) for column in values],
        texts={column: _codes(frame[column]) for column in texts},
        blank=_blank_rows(frame, start, end, values),
        cell_units=_cell_units(frame[values[0]]) if values else None,
    )


def _floats(column: "pd.Series[Any]", marks: Marks) -> NDArray[np.float64]:
    array = column.to_numpy()
    if array.dtype.kind in "fiub":
        return array.astype(np.float64, copy=False)
    return numbers_of(np.asarray(column.to_numpy(dtype=object, na_value="")), marks)


def _cell_units(column: "pd.Series[Any]") -> list[tuple[NDArray[np.int8], list[str]]]:
    """The units written beside the numbers, where the column is no plain column of numbers."""
    if column.dtype.kind in "fiub":
        return [(np.full(len(column), -1, np.int8), [])]
    return [units_of_cells(np.asarray(column.to_numpy(dtype=object, na_value="")))]


def _codes(column: "pd.Series[Any]") -> tuple[NDArray[np.int32], list[str]]:
    words = [str(word).strip() for word in column.cat.categories]
    codes = column.cat.codes.to_numpy().astype(np.int32)
    if "" in words:
        codes[np.isin(codes, [n for n, word in enumerate(words) if not word])] = -1
    return codes, words


def _blank_rows(
    frame: pd.DataFrame, start: TimeColumns | None, end: TimeColumns | None, values: tuple[int, ...]
) -> NDArray[np.bool_]:
    blank = np.ones(len(frame), dtype=bool)
    for column in [c for time in (start, end) if time for c in time.all]:
        array = frame[column].to_numpy()
        if array.dtype.kind == "S":
            blank &= first_bytes(array) == 0
        else:
            blank &= frame[column].isna().to_numpy()
        if not blank.any():
            return blank
    for column in values:
        blank &= frame[column].isna().to_numpy()
    return blank


def _joined(parts: list[Body], texts: tuple[int, ...]) -> Body:
    if not parts:
        empty = np.zeros(0, np.int32)
        return Body(empty, None, None, [], {}, np.zeros(0, bool))
    first = parts[0]
    return Body(
        lines=np.concatenate([part.lines for part in parts]),
        start=joined_stamps([part.start for part in parts if part.start]) if first.start else None,
        end=joined_stamps([part.end for part in parts if part.end]) if first.end else None,
        values=[np.concatenate(c) for c in zip(*(part.values for part in parts), strict=True)],  # noqa: PD011
        texts={column: _joined_codes([part.texts[column] for part in parts]) for column in texts},
        blank=np.concatenate([part.blank for part in parts]),
        cell_units=[unit for part in parts for unit in part.cell_units or []],
    )


def _joined_codes(
    parts: list[tuple[NDArray[np.int32], list[str]]],
) -> tuple[NDArray[np.int32], list[str]]:
    words = list(dict.fromkeys(word for _, part in parts for word in part))
    place = {word: number for number, word in enumerate(words)}
    codes = []
    for numbers, part in parts:
        table = np.array([place[word] for word in part] + [-1], dtype=np.int32)
        codes.append(table[numbers])
    return np.concatenate(codes), words

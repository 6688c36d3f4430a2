"""Parquet files: the columns of plain values become a text table, read like any other."""

import io
from pathlib import Path
from typing import Any

from mv.base.errors import ReadingError
from mv.readers.source import HEAD_BYTES, MAX_EXPANDED_BYTES, Source
from mv.readers.workbook import MAX_COLUMNS

ROWS_A_BATCH = 100_000


def is_parquet(path: Path) -> bool:
    """True where the content, whatever the name, is Parquet."""
    with path.open("rb") as stream:
        return stream.read(4) == b"PAR1"


def read_parquet(path: Path) -> Source:
    """The file as one text table; its first row is line 2.

    An instant with a zone is written with its offset. Columns of lists and records are left out. Raises
    ReadingError where the file is damaged or larger than a meter's.
    """
    import pyarrow
    from pyarrow.parquet import ParquetFile

    try:
        with ParquetFile(path) as file:
            _refuse_giant(file.metadata, path)
            names = [field.name for field in file.schema_arrow if _is_plain(field.type)]
            data = _text(file, names, path)
    except (pyarrow.ArrowException, OSError, ValueError, KeyError, MemoryError) as error:
        raise ReadingError(
            "is damaged, or no Parquet file that can be read",
            file=path,
            value=str(error).splitlines()[0][:80] if str(error) else type(error).__name__,
            remedy="Write it again, or export the readings as CSV.",
        ) from error
    return Source(path, path.name, None, "utf-8", data[:HEAD_BYTES], data=data)


def _refuse_giant(metadata: Any, path: Path) -> None:
    size = sum(metadata.row_group(n).total_byte_size for n in range(metadata.num_row_groups))
    if size > MAX_EXPANDED_BYTES or metadata.num_columns > MAX_COLUMNS:
        raise _giant(path, f"{metadata.num_columns} columns, {size // 1024**2} MB")


def _giant(path: Path, value: str) -> ReadingError:
    return ReadingError(
        "is larger than a meter's file", file=path, value=value, remedy="Save the readings alone."
    )


def _is_plain(kind: Any) -> bool:
    from pyarrow import types

    if types.is_dictionary(kind):
        return _is_plain(kind.value_type)
    texts = (types.is_string, types.is_large_string, types.is_string_view)
    numbers = (types.is_integer, types.is_floating, types.is_decimal, types.is_boolean)
    return any(test(kind) for test in (*texts, *numbers, types.is_timestamp, types.is_date, types.is_time))


def _text(file: Any, names: list[str], path: Path) -> bytes:
    from pyarrow import csv

    stream = io.BytesIO()
    first = True
    for batch in file.iter_batches(batch_size=ROWS_A_BATCH, columns=names):
        table = _as_written(batch)
        csv.write_csv(table, stream, csv.WriteOptions(include_header=first, quoting_style="needed"))
        first = False
        if stream.tell() > MAX_EXPANDED_BYTES:
            raise _giant(path, f"over {stream.tell() // 1024**2} MB")
    return stream.getvalue()


def _as_written(batch: Any) -> Any:
    """The batch with whole seconds where stamps have no fraction, and yes and no as 1 and 0."""
    import pyarrow
    from pyarrow import compute, types

    columns = []
    for column in batch.columns:
        if types.is_dictionary(column.type):
            column = column.dictionary_decode()
        if types.is_boolean(column.type):
            column = column.cast(pyarrow.int8())
        elif types.is_timestamp(column.type):
            whole = column.cast(pyarrow.timestamp("s", column.type.tz), safe=False)
            if compute.all(compute.equal(whole.cast(column.type, safe=False), column)).as_py() is not False:
                column = whole
        columns.append(column)
    return pyarrow.Table.from_arrays(columns, names=batch.schema.names)

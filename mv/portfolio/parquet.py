"""Rows to the bytes of a Parquet file, each column with its unit and meaning."""

from collections.abc import Mapping, Sequence
from typing import Any

from mv.portfolio.columns import METER_COLUMNS, STUDY_COLUMNS, Columns, meter_rows, study_row
from mv.portfolio.records import Outcome


def studies_parquet(outcomes: Sequence[Outcome]) -> bytes:
    """portfolio.parquet."""
    return _file([study_row(outcome) for outcome in outcomes], STUDY_COLUMNS)


def meters_parquet(outcomes: Sequence[Outcome]) -> bytes:
    """meters.parquet."""
    return _file(meter_rows(outcomes), METER_COLUMNS)


def _file(rows: Sequence[Mapping[str, Any]], columns: Columns) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = {"text": pa.string(), "texts": pa.list_(pa.string()), "float": pa.float64(), "whole": pa.int64()}
    fields = [
        pa.field(name, kinds[kind], metadata={"unit": unit, "meaning": meaning})
        for name, (kind, unit, meaning) in columns.items()
    ]
    table = pa.Table.from_pylist([dict(row) for row in rows], schema=pa.schema(fields))
    stream = pa.BufferOutputStream()
    pq.write_table(table, stream)
    return bytes(stream.getvalue().to_pybytes())

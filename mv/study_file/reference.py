"""The reference of study.toml: every table and key, its default, an example and what it means.

python -m mv.study_file.reference > mv/STUDY.md
"""

import json
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from mv.base.opening_hours import Hours
from mv.base.study_records import Span, Study
from mv.predicted import INVENTORY_COLUMNS
from mv.study_file.keys import ABOUT, KEYS

_WHOLE = (Hours, Span)  # written as one value, not as a table
_OWN_TABLES = ("zone.commissioned", "meter.query")  # never written as a value inside their parent
_HEAD = """# study.toml, table by table

Every key that a study file may hold; `sample_meter_data/study.toml` shows them at work. A key that is
not here is refused, and the message names the nearest one. Paths are relative to study.toml. Dates are
local; fractions run from 0 to 1; money is in the tariff's currency. Only `format`, `[site]` and one
`[[meter]]` are needed to `check`; `verify` needs `[periods]` too.

*needed* in the column of defaults means that the table cannot do without; a dash, that nothing is
assumed. No price, rate or factor has a default: each is yours, with its `source`.
"""
_INVENTORY = """## inventory.csv

One row a space, named under `[predicted]`. Control savings are counted on the new connected load only.
A wrong cell is refused by row and column.

| column | needed | unit and meaning |
|---|---|---|
"""


def study_reference() -> str:
    """The whole reference as Markdown."""
    parts = [_HEAD, *(_table(path, record) for path, record in tables_of_study())]
    rows = [
        f"| `{name}` | {'yes' if needed else 'no'} | {what} |" for name, needed, what in INVENTORY_COLUMNS
    ]
    return "\n".join([*parts, _INVENTORY + "\n".join(rows)]) + "\n"


def tables_of_study() -> Iterator[tuple[str, type[BaseModel]]]:
    """Every table of a study file by its dotted name, "" being the file itself, each record once."""
    yield "", Study
    yield from _tables_in("", Study, set())


def _tables_in(path: str, record: type[BaseModel], seen: set[type]) -> Iterator[tuple[str, type[BaseModel]]]:
    for key, field in record.model_fields.items():
        inner = _record_in(field.annotation)
        if inner is None or inner in _WHOLE or inner in seen:
            continue
        seen.add(inner)
        here = f"{path}.{key}" if path else key
        yield here, inner
        yield from _tables_in(here, inner, seen)


def keys_of(path: str, record: type[BaseModel]) -> dict[str, FieldInfo]:
    """The keys to be written in that table; of the file itself those that are no tables."""
    fields = {key: field for key, field in record.model_fields.items() if key != "folder"}
    if path:
        return {key: field for key, field in fields.items() if f"{path}.{key}" not in _OWN_TABLES}
    return {key: field for key, field in fields.items() if _record_in(field.annotation) is None}


def _table(path: str, record: type[BaseModel]) -> str:
    lines = [
        f"## {_heading(path)}\n",
        f"{ABOUT[path]}\n",
        "| key | default | example | meaning |",
        "|---|---|---|---|",
    ]
    for key, field in keys_of(path, record).items():
        example, meaning = KEYS[path][key]
        lines.append(f"| `{key}` | {_default(field)} | `{example}` | {meaning} |")
    return "\n".join(lines) + "\n"


def _heading(path: str) -> str:
    if not path:
        return "The file"
    return f"[[{path}]]" if _is_list(path) else f"[{path}]"


def _is_list(path: str) -> bool:
    record: type[BaseModel] = Study
    field = None
    for key in path.split("."):
        field = record.model_fields[key]
        record = _record_in(field.annotation) or record
    return field is not None and "tuple[" in str(field.annotation)


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "*needed*"
    value: Any = field.default
    if value is None or value == () or isinstance(value, BaseModel):
        return "-"
    if isinstance(value, tuple):
        return "every month" if len(value) == 12 else f"`{json.dumps(list(value))}`"
    return f"`{json.dumps(value)}`"


def _record_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_record_in(inner) for inner in get_args(annotation))
    return next((record for record in found if record is not None), None)


if __name__ == "__main__":
    print(study_reference(), end="")

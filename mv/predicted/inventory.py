"""Reading inventory.csv: every problem found is named by row and column, all in one message."""

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from mv.base.errors import InputError, ReadingError, joined
from mv.base.ledger import Remark
from mv.predicted.records import Inventory, InventoryRow
from mv.predicted.table import Table, TableRow, may_mark_thousands, read_table


@dataclass(frozen=True, slots=True)
class _Column:
    """A numeric column: its largest sensible value is a limit of meaning, not of taste."""

    meaning: str
    default: float | None = None
    required: bool = True
    most: float = math.inf
    above_most: str = ""


TEXT_COLUMNS = {
    "space": "a room or area; each once a zone",
    "zone": "id of one of the study's zones",
}
_FRACTION = "Write a fraction: 0.30 for 30 %."
NUMBER_COLUMNS = {
    "quantity": _Column("fixtures"),
    "watts_before": _Column("input W of one fixture before"),
    "watts_after": _Column("input W of one fixture after, fully on"),
    "hours_per_year": _Column("full-load hours of a year before"),
    "control_saving_fraction": _Column(
        "what controls save of the new load's use, fraction 0 to 1", most=1.0, above_most=_FRACTION
    ),
    "standby_watts": _Column(
        "W that one fixture's sensor and driver draw with the light off; 0 where blank",
        default=0.0,
        required=False,
    ),
    "coincidence_factor": _Column(
        "share of the connected load that burns in the peak window, 0 to 1; blank: no peak kW is predicted",
        required=False,
        most=1.0,
        above_most=_FRACTION,
    ),
    "hvac_energy_factor": _Column(
        "multiplies the kWh saving, 1.10 adds a tenth for cooling spared; 1 where blank",
        default=1.0,
        required=False,
    ),
    "hvac_demand_factor": _Column(
        "multiplies the kW saving likewise; 1 where blank", default=1.0, required=False
    ),
}
INVENTORY_COLUMNS = (
    *((name, True, meaning) for name, meaning in TEXT_COLUMNS.items()),
    *((name, column.required, column.meaning) for name, column in NUMBER_COLUMNS.items()),
)
"""Each column of inventory.csv: name, whether it is needed, unit and meaning."""
_REQUIRED = (*TEXT_COLUMNS, *(name for name, column in NUMBER_COLUMNS.items() if column.required))
_KNOWN = (*TEXT_COLUMNS, *NUMBER_COLUMNS)


def read_inventory(path: Path | str, *, known_zones: Collection[str] | None = None) -> Inventory:
    """Read a fixture inventory, one row a space.

    UTF-8 (with or without a mark) or Windows-1252; separated by commas, semicolons or tabs.
    `known_zones` are the study's zone ids; None or empty leaves the zones unchecked. Raises
    ReadingError that lists every wrong cell: negative or unreadable numbers, fractions above 1,
    a space named twice, an unknown zone, missing or misspelt columns.
    """
    file = Path(path)
    table = read_table(file)
    problems: list[InputError] = [*_column_problems(file, table)]
    if problems:
        raise joined(problems)
    rows = []
    for entry in table.rows:
        row, wrong = _row(file, table, entry)
        problems += wrong
        rows.append(row)
    problems += _repeated_spaces(file, table.rows)
    problems += _unknown_zones(file, table.rows, known_zones or ())
    if not table.rows:
        problems.append(ReadingError("has no rows", file=file, remedy="Give one row a space."))
    if problems:
        raise joined(problems)
    return Inventory(file.name, tuple(rows), (*table.remarks, *_spare_columns(file, table)))


def _column_problems(file: Path, table: Table) -> list[ReadingError]:
    problems = []
    spare = [name for name in table.columns if name and name not in _KNOWN]
    for name in _REQUIRED:
        if name not in table.columns:
            near = get_close_matches(name, spare, n=1)
            what = f"column '{name}' is missing" + (f"; is it '{near[0]}'?" if near else "")
            remedy = f"The header needs: {', '.join(_REQUIRED)}."
            problems.append(ReadingError(what, file=file, place="line 1", remedy=remedy))
    for name in sorted({name for name in table.columns if name and table.columns.count(name) > 1}):
        what = f"column '{name}' is there twice"
        problems.append(ReadingError(what, file=file, place="line 1", remedy="Keep one of them."))
    optional = [name for name in _KNOWN if name not in _REQUIRED and name not in table.columns]
    for name in spare:
        near = get_close_matches(name, optional, n=1, cutoff=0.8)
        if near:
            what = f"column '{name}' is not known; is it '{near[0]}'?"
            remedy = "Rename it, or leave it out."
            problems.append(ReadingError(what, file=file, place="line 1", remedy=remedy))
    return problems


def _spare_columns(file: Path, table: Table) -> Iterable[Remark]:
    spare = [name for name in table.columns if name and name not in _KNOWN]
    if spare:
        what = f"columns not used: {', '.join(spare)}"
        yield Remark("columns-not-used", what, file=file.name, lines="line 1")


def _row(file: Path, table: Table, entry: TableRow) -> tuple[InventoryRow, list[ReadingError]]:
    problems = []
    if entry.surplus:
        problems.append(
            ReadingError(
                f"has {entry.surplus} more cells than the header",
                file=file,
                place=f"line {entry.line}",
                remedy="A comma within a name or number needs quotes, or use semicolons.",
            )
        )
    numbers: dict[str, float | None] = {}
    for name, column in NUMBER_COLUMNS.items():
        try:
            numbers[name] = _number(entry.cells.get(name, ""), column, table.decimal_comma)
        except _CellError as problem:
            numbers[name] = 0.0
            place = f"line {entry.line}, column {name}"
            found = entry.cells.get(name) or None
            problems.append(
                ReadingError(problem.what, file=file, place=place, value=found, remedy=problem.remedy)
            )
    problems += _missing_texts(file, entry)
    texts = {name: entry.cells.get(name, "") for name in TEXT_COLUMNS}
    return InventoryRow(line=entry.line, **texts, **numbers), problems  # type: ignore[arg-type]


class _CellError(Exception):
    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(what)
        self.what, self.remedy = what, remedy


def _number(text: str, column: _Column, decimal_comma: bool) -> float | None:
    if not text:
        if column.required:
            raise _CellError("is empty", "Give a number.")
        return column.default
    if decimal_comma and may_mark_thousands(text):
        raise _CellError("may mean thousands or decimals", "Write it without the comma.")
    plain = text.replace(",", ".") if decimal_comma else text
    try:
        value = float(plain)
    except ValueError:
        raise _CellError("is not a number", _remedy(text)) from None
    if not math.isfinite(value) or "_" in text:
        raise _CellError("is not a number", "Give a number.")
    if value < 0:
        raise _CellError("is negative", "Give zero or more.")
    if value > column.most:
        raise _CellError(f"is above {column.most:g}", column.above_most)
    return value


def _remedy(text: str) -> str:
    if "," in text and not text.strip("+-0123456789.,"):
        return "Write numbers with a decimal point and without thousands marks: 1500.5."
    if text.endswith("%"):
        return "Write a fraction without the sign: 0.30 for 30 %."
    return "Give a plain number, without a unit."


def _missing_texts(file: Path, entry: TableRow) -> list[ReadingError]:
    return [
        ReadingError(
            "is empty",
            file=file,
            place=f"line {entry.line}, column {name}",
            remedy=f"Name the {name}.",
        )
        for name in TEXT_COLUMNS
        if not entry.cells.get(name)
    ]


def _repeated_spaces(file: Path, rows: Iterable[TableRow]) -> list[ReadingError]:
    problems: list[ReadingError] = []
    first_line: dict[tuple[str, str], int] = {}
    for row in rows:
        space, zone = row.cells.get("space", ""), row.cells.get("zone", "")
        key = (zone.casefold(), space.casefold())
        if space and key in first_line:
            problems.append(
                ReadingError(
                    f"the space is already in line {first_line[key]}",
                    file=file,
                    place=f"line {row.line}, column space",
                    value=space,
                    remedy="One row a space: take one out, or tell their names apart.",
                )
            )
        first_line.setdefault(key, row.line)
    return problems


def _unknown_zones(file: Path, rows: Iterable[TableRow], known: Collection[str]) -> list[ReadingError]:
    problems: list[ReadingError] = []
    for row in rows:
        zone = row.cells.get("zone", "")
        if known and zone and zone not in known:
            near = get_close_matches(zone, sorted(known), n=1)
            hint = f"Did you mean '{near[0]}'? " if near else ""
            problems.append(
                ReadingError(
                    "the study has no such zone",
                    file=file,
                    place=f"line {row.line}, column zone",
                    value=zone,
                    remedy=f"{hint}The study's zones: {', '.join(sorted(known))}.",
                )
            )
    return problems

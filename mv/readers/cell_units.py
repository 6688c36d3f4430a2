"""Units written in the cells beside the numbers, and scales written in the heading."""

import re

import numpy as np

from mv.base.errors import ReadingError
from mv.readers.body import Body
from mv.readers.parsed import Parsed
from mv.readers.unit_names import Unit, unit_of
from mv.readers.wanted import Wanted

WRITTEN_BESIDE = "written beside the numbers"
_BARE = -1
_SCALE = re.compile(
    r"(?<![\w.])[x×*] ?(?:10+|0[.,]0*1)(?![\w.,])|[\[(] ?[x×*]? ?(?:0[.,]0*1|10+) ?[km]?wh? ?[\])]",
    re.IGNORECASE,
)


def refuse_scale(heading: str, wanted: Wanted, *, file: str) -> None:
    """Raise ReadingError where the heading names a scale ("kWh x10") that the study does not settle."""
    found = _SCALE.search(heading)
    if found and wanted.multiplier is None:
        raise ReadingError(
            "names a scale in its heading, and nothing says whether the readings include it",
            file=file,
            place=f"column {heading!r}",
            value=found.group(0),
            remedy=f"Set multiplier in {wanted.table}: the scale, if the readings are to be multiplied by "
            "it, or 1.0 if they hold it already (compare a month's sum with the bill).",
        )


def heed_cell_units(parsed: Parsed, body: Body, wanted: Wanted) -> None:
    """Where cells carry their units, each is read in its own; a cell without one beside them is refused.

    Zeros and empty cells need no unit.
    """
    names = list(dict.fromkeys(name for _, found in body.cell_units or [] for name in found))
    if not names:
        return
    codes = _joined(body, names)[~body.blank]
    units = [unit_of(name) for name in names]
    bare = codes == _BARE
    if (bare.any() and parsed.unit is None) or (bare.any() and len(names) > 1):
        raise _mixed(parsed, codes, _BARE, int(codes.max()), names, wanted)
    kinds = {unit.measures for unit in units if unit}
    if len(kinds) > 1:
        measures = [unit.measures if unit else "" for unit in units]
        other = next(n for n, name in enumerate(measures) if name != measures[0])
        raise _mixed(parsed, codes, 0, other, names, wanted)
    first = units[0]
    assert first is not None
    if len(names) == 1 and not bare.any():
        parsed.unit, parsed.unit_why = first, WRITTEN_BESIDE
        return
    if bare.any():  # one unit beside some numbers; the heading gives the others theirs
        assert parsed.unit is not None
        if parsed.unit.name != first.name or parsed.unit_why == WRITTEN_BESIDE:
            raise _mixed(parsed, codes, _BARE, 0, names, wanted)
        return
    factors = np.array([unit.factor if unit else np.nan for unit in units] + [1.0, 1.0])
    parsed.factor = factors[codes]
    parsed.unit = Unit(first.inside, first.measures, first.inside)
    parsed.unit_why = f"written beside each number: {', '.join(names)}; each is read in its own"


def _joined(body: Body, names: list[str]) -> "np.ndarray[tuple[int], np.dtype[np.int8]]":
    """The codes of all parts of the file, into one list of names."""
    parts = []
    for codes, found in body.cell_units or []:
        table = np.array([names.index(name) for name in found] + [-2, -1], np.int8)
        parts.append(table[codes])
    return np.concatenate(parts)


def _mixed(
    parsed: Parsed,
    codes: "np.ndarray[tuple[int], np.dtype[np.int8]]",
    first: int,
    second: int,
    names: list[str],
    wanted: Wanted,
) -> ReadingError:
    def said(code: int) -> str:
        row = int(np.argmax(codes == code))
        return f"{parsed.values[row]:g} {'without a unit' if code == _BARE else names[code]}"

    lines = sorted(int(parsed.lines[int(np.argmax(codes == code))]) for code in (first, second))
    return ReadingError(
        "writes its numbers in more than one unit, and not each with its own",
        file=parsed.name,
        place=f"lines {lines[0]} and {lines[1]}",
        value=f"{said(first)}, {said(second)}",
        remedy="Export the column in one unit, or with the unit beside every number; "
        f"or name another column as value_column in {wanted.table}.",
    )

"""Columns of on and off: words, 0 and 1, two columns of events, shares of time on."""

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.readers.layout import Layout
from mv.readers.parsed import Parsed
from mv.readers.unit_names import Unit
from mv.readers.wanted import Wanted
from mv.readers.words import CONTACT, OFF, ON, STATE_HEAD, plain

STATE = Unit("state", "state", "state")
_OPEN, _CLOSED = "open", "closed"


def has_state_words(layout: Layout, column: int) -> bool:
    """True where the cells are words for on and off, or the heading says that 1 and 0 are."""
    if "state" in _kinds(layout, column):
        cells = {plain(row[column]) for row in layout.rows if column < len(row)} - {""}
        worded = any(not cell.replace(".", "").isdigit() for cell in cells)
        if worded:
            return all(ON.match(cell) or OFF.match(cell) for cell in cells)
    return STATE_HEAD.search(plain(layout.header[column])) is not None


def _kinds(layout: Layout, column: int) -> set[str]:
    return {kinds[column] for kinds in layout.kinds if column < len(kinds)}


def switchings(on: NDArray[np.float64], off: NDArray[np.float64]) -> NDArray[np.float64]:
    """States from a column that marks each switching on and one that marks each switching off."""
    return np.where(on > 0, 1.0, np.where(off > 0, 0.0, np.nan))


def heed_contacts(parsed: Parsed, layout: Layout, column: int) -> None:
    """A closed relay or switch lets the current flow; elsewhere open is taken as on, and said."""
    if "state" not in _kinds(layout, column):
        return
    if not {plain(row[column]) for row in layout.rows if column < len(row)} & {_OPEN, _CLOSED}:
        return
    if CONTACT.search(plain(layout.header[column])):
        parsed.values = 1.0 - parsed.values
        parsed.inferred["states"] = f"{layout.header[column]!r}: closed is on, open is off"
        return
    parsed.remarks.append(
        Remark(
            "open-taken-as-on",
            'the states are "open" and "closed"; open is taken as on',
            file=parsed.name,
            remedy="If they are a relay's, whose closed contact lights the lamps, say so in the heading "
            '("relay").',
        )
    )


def unit_of_states(file: Parsed, wanted: Wanted) -> Unit:
    """States of 0 and 1 that hold until the next, or the share of each interval that was on.

    Raises ReadingError where the numbers may be neither.
    """
    values = file.values[np.isfinite(file.values)]
    if bool(np.isin(values, (0.0, 1.0)).all()) and (file.unit is None or file.unit.name != "%"):
        return STATE
    if file.interval_seconds is None or not len(values) or float(values.min()) < 0:
        return STATE  # what is neither 0 nor 1 is set aside by its line
    highest = float(values.max())
    if file.unit is not None and file.unit.name == "%" and highest <= 100.0:
        return Unit("% of the interval on", "share", "fraction", 0.01)
    if highest <= 1.0:
        return Unit("fraction of the interval on", "share", "fraction")
    if float(np.isin(values, (0.0, 1.0)).mean()) >= 0.5:
        return STATE
    raise ReadingError(
        "holds numbers that are neither on and off nor a share of the interval",
        file=file.name,
        value=f"up to {highest:g}",
        remedy=f"If they are per cent, say % in the heading; else check quantity in {wanted.table}.",
    )

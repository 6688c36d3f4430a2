"""On/off logs: each state holds until the next change; flicker is left out, silence remarked."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.raw import RawFile
from mv.cleaning.readings import Readings

SILENCE_DAYS = 14  # a state log unchanged for longer is suspect; common practice, no source
FLICKER_SECONDS = 60  # tubes flicker as they start and set off light sensors; practice is 1 to 3 minutes


def state_readings(file: RawFile, number: int, load_kw: NDArray[np.float64], why: str) -> Readings:
    """The log's changes as energy at the switched load. An off of less than FLICKER_SECONDS between
    two ons is flicker: both its rows are set aside and the light counts as on throughout."""
    order = np.argsort(file.start, kind="stable")
    start, state = file.start[order], file.value[order]
    table = Readings(
        names=[],
        start=start,
        seconds=np.zeros(len(start), np.int64),
        kwh=np.zeros(len(start)),
        line=file.line[order],
        file=np.full(len(start), number, np.int16),
        estimated=np.zeros(len(start), bool),
        reason=np.zeros(len(start), np.uint8),
        inferred={"connected load": why},
    )
    table.set_aside("not an on or off state", ~np.isin(state, (0.0, 1.0)))
    _set_aside_flicker(table, state)
    rows = np.flatnonzero(table.used)
    held = np.diff(start[rows], append=start[rows[-1:]])
    table.seconds[rows] = held
    table.kwh[rows] = state[rows] * held / 3600.0 * load_kw[order][rows]
    _remark_silence(table, rows, held, file.name)
    return table


def _set_aside_flicker(table: Readings, state: NDArray[np.float64]) -> None:
    rows = np.flatnonzero(table.used)
    if len(rows) < 3:
        return
    on = state[rows] > 0
    start = table.start[rows]
    short = ~on[1:-1] & on[:-2] & on[2:] & (start[2:] - start[1:-1] < FLICKER_SECONDS)
    found = np.flatnonzero(short) + 1
    if len(found) == 0:
        return
    mask = np.zeros(len(table.start), bool)
    mask[rows[found]] = True
    mask[rows[found + 1]] = True
    table.set_aside("flicker", mask)
    hours = float((start[found + 1] - start[found]).sum()) / 3600.0
    table.inferred["flicker"] = (
        f"{len(found)} offs of under {FLICKER_SECONDS} s are left out; that adds {hours:.2f} hours of light"
    )


def _remark_silence(table: Readings, rows: NDArray[np.intp], held: NDArray[np.int64], name: str) -> None:
    silent = held > SILENCE_DAYS * 86_400
    if silent.any():
        table.remarks.append(
            Remark(
                "long-silence",
                f"{int(silent.sum())} state(s) stand unchanged for over {SILENCE_DAYS} days",
                file=name,
                lines=f"line {int(table.line[rows[int(np.argmax(silent))]])}",
                remedy="Check the logger's battery, and whether the lights really never changed.",
            )
        )

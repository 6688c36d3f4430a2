"""What the numbers are: energy, power, a running register, amperes, pulses or states."""

import re

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.base.raw import Quantity
from mv.readers.intervals import ordered
from mv.readers.parsed import Parsed
from mv.readers.resets import OPEN_RATIO, SURE_RATIO, reset_hours
from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.states import unit_of_states
from mv.readers.unit_names import Unit, unit_of
from mv.readers.wall_clock import (
    Wall,
)  # fmt: skip
from mv.readers.wanted import Wanted

REGISTER_RISING = 0.95  # share of rising or level steps of a register; trade practice is 0.99 without resets


FIRST_LOOK = 2000  # readings whose course rules a register out


REGISTER_RATIO = 20.0  # a register stands this far above its usual step; common practice, no source


REGISTER_SURE_RATIO = 500.0  # so far above that less than a day of readings tells; no source


RISING_RUNS = 0.5  # share of readings in runs that climb for days; no source


REGISTER_READINGS = 200  # fewer may rise throughout by chance or by construction; no source


DAILY_MEAN = re.compile(
    r"\b(avg|average|mean|mittlere?r?|moyenne|media|promedio)\b.*\b(daily|day|tag|jour|dia)|"
    r"daily (avg|average|mean)|"
    r"(per|/|pro|par) ?(day|tag|jour|dia)\b"
)
TODAY = re.compile(r"today|since midnight|heute|aujourd|oggi|hoy|vandaag|idag|daily total|tages")


FEWEST_BILLS = 8  # as many bills do not rise one and all by chance (1 in 8!); no source


REGISTER_DAYS = 3  # energy per interval does not go without a fall for so long; no source


def find_quantity(file: Parsed, wall: Wall, wanted: Wanted) -> tuple[Quantity, Unit]:
    """What the numbers are. The study's word counts; a heading's unit comes next; else refuse."""
    stated_unit = unit_of(wanted.unit) if wanted.unit else None
    if wanted.unit and stated_unit is None:
        raise ReadingError(
            f"unit = {wanted.unit!r} is not a unit",
            place=wanted.table,
            remedy="Give kWh, Wh, MWh, kW, W, A or pulses.",
        )
    if wanted.quantity == "on-off" or (wanted.quantity is None and _is_on_off(file, stated_unit, wanted)):
        return "on-off", unit_of_states(file, wanted)
    if stated_unit and file.unit and file.unit.name != stated_unit.name:
        _remark_unit(file, stated_unit, wanted)
    unit = stated_unit or file.unit
    if stated_unit and file.unit and file.unit.name == "%" and wanted.quantity is None:
        raise _per_cent(file, stated_unit, wanted)
    if unit and unit.measures == "energy" and DAILY_MEAN.search(file.unit_why.casefold()):
        _refuse_daily_mean(file, wanted)
    if stated_unit:
        file.unit_why = "as the study states"
    if unit is None:
        raise _no_unit(file, wanted)
    if unit.measures == "power by time":
        raise ReadingError(
            f"the heading says {unit.name}, which is neither energy nor power",
            file=file.name,
            remedy=f'Find out which is meant, and set unit in {wanted.table} to "kWh" (energy of each '
            'interval) or "kW" (power).',
        )
    if unit.measures not in ("energy", "power", "current", "pulses"):
        raise ReadingError(
            f"the readings are {unit.measures} ({unit.name}), not energy or power",
            file=file.name,
            remedy=f"Set value_column in {wanted.table} to the energy or power, or leave the file out.",
        )
    if wanted.quantity:
        return _stated_quantity(file, unit, wanted)
    if unit.measures == "power" and file.highest_words:
        raise ReadingError(
            "the column holds the highest power of each interval, whose energy it does not tell",
            file=file.name,
            value=file.unit_why,
            remedy=f"Set value_column in {wanted.table} to the energy or mean power; if this column is the "
            'mean after all, set quantity = "power".',
        )
    if unit.measures == "energy" and _is_register(file, wall):
        file.unit_why += "; a running register: the readings rise throughout and stand far above their steps"
        return "register", unit
    return unit.measures, unit  # type: ignore[return-value]


def _per_cent(file: Parsed, stated: Unit, wanted: Wanted) -> ReadingError:
    return ReadingError(
        f"the readings are per cent ({file.unit_why}), not {stated.name}",
        file=file.name,
        remedy=f'If they are the share of time on, set quantity = "on-off" in {wanted.table}; a level of '
        "light or of a dimmer is no power.",
    )


def _refuse_daily_mean(file: Parsed, wanted: Wanted) -> None:
    """Bills that tell the mean energy of a day do not tell the period's."""
    if (file.interval_seconds or 0) > 1.5 * DAY_SECONDS and wanted.quantity is None:
        raise ReadingError(
            "the heading says energy a day, and each reading stands for many days",
            file=file.name,
            value=file.unit_why,
            remedy=f"Set value_column in {wanted.table} to the energy of the whole period; if this column is "
            'that after all, set quantity = "energy".',
        )


def _remark_unit(file: Parsed, stated: Unit, wanted: Wanted) -> None:
    assert file.unit is not None
    file.remarks.append(
        Remark(
            "unit-contradicted",
            f"the study states {stated.name}, the file says {file.unit.name} ({file.unit_why})",
            file=file.name,
            remedy=f"Check unit in {wanted.table}.",
        )
    )


def _stated_quantity(file: Parsed, unit: Unit, wanted: Wanted) -> tuple[Quantity, Unit]:
    quantity = wanted.quantity
    needs = {"register": "energy"}.get(str(quantity), quantity)
    if unit.measures != needs:
        raise ReadingError(
            f"quantity = {quantity!r} does not go with the unit {unit.name}",
            file=file.name,
            place=wanted.table,
            remedy="Set quantity and unit to what the column holds.",
        )
    return quantity, unit  # type: ignore[return-value]


def _no_unit(file: Parsed, wanted: Wanted) -> ReadingError:
    return ReadingError(
        "nothing says what the numbers measure",
        file=file.name,
        place=f"line {int(file.lines[0])}" if len(file.lines) else None,
        value=float(file.values[0]) if len(file.values) else None,
        remedy=f'Set quantity and unit in {wanted.table}, e.g. quantity = "energy", unit = "kWh".',
    )


def _is_on_off(file: Parsed, stated: Unit | None, wanted: Wanted) -> bool:
    """States, or shares of time on, where the study says no other unit than that of the switched load."""
    if stated is not None and not (stated.measures == "power" and wanted.multiplier is not None):
        return False
    if file.unit is not None:
        return file.unit.name == "%" and file.on_time_words
    return file.state_words and bool(np.isin(file.values, (0.0, 1.0)).all())


def _is_register(file: Parsed, wall: Wall) -> bool:
    """A running total: hardly ever falls, and stands far above its steps (or the heading says so)."""
    values = file.values
    if len(values) < 3:
        return False
    spans = file.end_stamps is not None or file.side_why.startswith("the heading")
    if spans and file.side == "start" and not file.register_words:
        return False  # a register has no beginning
    hours = reset_hours(values, wall, ratio=OPEN_RATIO) if file.ordinal is None else None
    if hours is not None:
        return _begins_again(file, wall, hours)
    first = np.diff(values[:FIRST_LOOK])
    if max(float((first >= 0).mean()), float((first <= 0).mean())) < REGISTER_RISING:
        return False
    if not bool((wall[1:] >= wall[:-1]).all()):
        values = values[np.argsort(wall, kind="stable")]
    steps = np.diff(values)
    if not (steps > 0).any() or float((steps >= 0).mean()) < REGISTER_RISING:
        return False
    if file.register_words:
        return bool((steps >= 0).all()) or len(values) >= 20
    ratio = float(values.min()) / float(np.median(steps[steps > 0]))
    if ratio > REGISTER_RATIO and len(values) < FEWEST_BILLS and (file.interval_seconds or 0) >= DAY_SECONDS:
        raise _open_bills(file, values)
    lasting = int(wall.max()) - int(wall.min()) >= DAY_SECONDS
    if ratio > (REGISTER_RATIO if lasting else REGISTER_SURE_RATIO) or _rises_between_falls(
        values, ordered(wall)
    ):
        return True
    many = len(values) >= REGISTER_READINGS
    return (
        many and bool((steps >= 0).all()) and int(wall.max()) - int(wall.min()) >= REGISTER_DAYS * DAY_SECONDS
    )


def _begins_again(file: Parsed, wall: Wall, hours: float) -> bool:
    """A register that begins again every few hours; raises ReadingError where it may be energy."""
    said = file.register_words or TODAY.search(file.unit_why.casefold()) is not None
    if not said and reset_hours(file.values, wall, ratio=SURE_RATIO) is None:
        raise ReadingError(
            f"the readings only rise and begin again at zero every {hours:.3g} hours: they may be a register "
            "that is reset, or energy of each interval",
            file=file.name,
            remedy='Set quantity to "register" or to "energy".',
        )
    file.inferred["resets"] = f"the readings only rise, and begin again at zero every {hours:.3g} hours"
    return True


def _open_bills(file: Parsed, values: NDArray[np.float64]) -> ReadingError:
    return ReadingError(
        "the few readings rise throughout: they may be a meter's register or the energy of each period",
        file=file.name,
        value=f"{values[0]:g} to {values[-1]:g}",
        remedy='Set quantity to "register" or to "energy".',
    )


def _rises_between_falls(values: NDArray[np.float64], wall: Wall) -> bool:
    """A register that begins again at zero: between falls it climbs for days by many times its largest
    step, which energy per interval, however smooth, does not."""
    steps = np.diff(values)
    falls = np.flatnonzero(steps < 0) + 1
    if not len(falls) or len(values) < REGISTER_READINGS:
        return False
    climbing = 0
    for run, moments in zip(np.split(values, falls), np.split(wall, falls), strict=True):
        if int(moments[-1] - moments[0]) < REGISTER_DAYS * DAY_SECONDS:
            continue
        inner = np.diff(run)
        largest = float(np.quantile(inner[inner > 0], 0.99)) if (inner > 0).any() else 0.0
        if largest > 0 and float(run[-1] - run[0]) >= REGISTER_RATIO * largest:
            climbing += len(run)
    return climbing >= RISING_RUNS * len(values)

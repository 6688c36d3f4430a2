"""Readings of every quantity as energy per span: kWh, kW, registers, amperes, pulses, states."""

import math

import numpy as np
from numpy.typing import NDArray

from mv.base.clock import period_bounds
from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.raw import RawFile, RawMeter
from mv.base.study_records import Study
from mv.cleaning.jitter import even_stamps
from mv.cleaning.readings import Readings
from mv.cleaning.registers import register_steps
from mv.cleaning.states import state_readings

HOLD_INTERVALS = 2.5  # a power reading stands for at most this many intervals; common practice, no source


def energy_of(raw: RawMeter, meter: Meter, study: Study) -> Readings:
    """One table of all files' readings in kWh, in time order, before any fault is looked for."""
    names = [file.name for file in raw.files]
    parts = []
    registers = [n for n, file in enumerate(raw.files) if file.quantity == "register"]
    if registers:
        parts.append(register_steps(raw, registers, meter.multiplier))
    for number, file in enumerate(raw.files):
        if file.quantity != "register" and len(file.start):
            parts.append(_part(file, number, meter, study))
    return _joined(parts, names)


def _part(file: RawFile, number: int, meter: Meter, study: Study) -> Readings:
    if file.quantity == "on-off" and file.unit == "state":
        load, why = _connected_kw(file, meter, study)
        return state_readings(file, number, load * meter.multiplier, why)
    count = len(file.start)
    kwh, seconds, notes, inferred = _kwh(file, meter, study)
    start, seconds, why = even_stamps(file, seconds)
    if why:
        inferred["stamps"] = why
    estimated = np.zeros(count, bool) if file.estimated is None else file.estimated
    part = Readings(
        names=[],
        start=start,
        seconds=seconds,
        kwh=kwh,
        line=file.line,
        file=np.full(count, number, np.int16),
        estimated=estimated,
        reason=np.zeros(count, np.uint8),
        remarks=notes,
        inferred=inferred,
    )
    if file.seconds is not None:
        part.set_aside("an interval of no length", seconds <= 0)
    return part


def _kwh(
    file: RawFile, meter: Meter, study: Study
) -> tuple[NDArray[np.float64], NDArray[np.int64], list[Remark], dict[str, str]]:
    inferred: dict[str, str] = {}
    seconds = _lengths(file, meter)
    hours = seconds / 3600.0
    if file.quantity == "energy":
        return _scaled(file.value, meter.multiplier), seconds, [], inferred
    if file.quantity == "power":
        return _scaled(file.value * hours, meter.multiplier), seconds, [], inferred
    if file.quantity == "on-off":
        load, inferred["connected load"] = _connected_kw(file, meter, study)
        return file.value * hours * load * meter.multiplier, seconds, [], inferred
    if file.quantity == "current":
        factor = _kw_per_ampere(meter, file)
        inferred["current"] = (
            f"kW = A x {meter.volts:g} V x {meter.power_factor:g} x {meter.phases} phase(s) / 1000, as "
            "stated: "
            "a stand-in for measured power"
        )
        return file.value * hours * factor * meter.multiplier, seconds, [], inferred
    if meter.kwh_per_pulse is None:
        raise ReadingError(
            "counts pulses, and nothing says what a pulse is worth",
            file=file.name,
            remedy=f"Set kwh_per_pulse in [[meter]] id = {meter.id!r}.",
        )
    return file.value * meter.kwh_per_pulse * meter.multiplier, seconds, [], inferred


def _scaled(values: NDArray[np.float64], multiplier: float) -> NDArray[np.float64]:
    return values if multiplier == 1.0 else values * multiplier


def _kw_per_ampere(meter: Meter, file: RawFile) -> float:
    """kW per ampere of a circuit: volts x power factor x phases / 1000."""
    if meter.volts is None or meter.power_factor is None:
        raise ReadingError(
            "is in amperes, which are not power without volts and power factor",
            file=file.name,
            remedy=f"Set volts and power_factor (and phases) in [[meter]] id = {meter.id!r}, from a "
            "measurement on site.",
        )
    return meter.volts * meter.power_factor * meter.phases / 1000.0


def _lengths(file: RawFile, meter: Meter) -> NDArray[np.int64]:
    """The span each reading stands for, seconds."""
    count = len(file.start)
    if file.seconds is not None:
        return file.seconds
    step = file.interval_seconds
    if step is not None and (file.quantity != "power" or _on_grid(file.start, step)):
        return np.full(count, step, np.int64)
    if file.quantity == "power":
        return _held(file.start, step)
    raise ReadingError(
        "has no regular interval, so how long each reading stands for is not known",
        file=file.name,
        remedy=f"Set interval_minutes in [[meter]] id = {meter.id!r}.",
    )


def _on_grid(start: NDArray[np.int64], step: int) -> bool:
    return bool(((start - start[0]) % step == 0).all())


def _held(start: NDArray[np.int64], step: int | None) -> NDArray[np.int64]:
    """Each power reading holds until the next one, at most HOLD_INTERVALS usual steps."""
    order = np.argsort(start, kind="stable")
    gaps = np.diff(start[order])
    usual = step or (int(np.median(gaps[gaps > 0])) if (gaps > 0).any() else 60)
    held = np.append(gaps, usual)
    held = np.where(held > HOLD_INTERVALS * usual, usual, held)
    out = np.empty(len(start), np.int64)
    out[order] = held
    return out


def _connected_kw(file: RawFile, meter: Meter, study: Study) -> tuple[NDArray[np.float64], str]:
    """The load that "on" means at each reading, kW: before and after the retrofit by the periods."""
    zones = study.zones_of(meter.id)
    before = [zone.connected_kw_before for zone in zones]
    after = [zone.connected_kw_after for zone in zones]
    if not zones or None in before or (study.periods and None in after):
        if meter.unit == "kW" and meter.multiplier != 1.0:
            return np.ones(len(file.start)), f"{meter.multiplier:g} kW, the multiplier stated"
        raise ReadingError(
            "logs on and off, and nothing says what load that switches",
            file=file.name,
            remedy=f"Give the zones of meter {meter.id!r} fixtures, watts_before and watts_after in "
            "[[zone]], "
            'or set unit = "kW" and multiplier to the switched kW.',
        )
    first, second = math.fsum(x or 0.0 for x in before), math.fsum(x or 0.0 for x in after)
    load = np.full(len(file.start), first)
    if study.periods:
        start, _ = period_bounds(
            study.periods.reporting.first, study.periods.reporting.last, study.site.timezone
        )
        load[file.start >= int(start.timestamp())] = second
    return load, f"{first:g} kW before, {second:g} kW after, from the zones' fixtures and watts"


def _joined(parts: list[Readings], names: list[str]) -> Readings:
    if not parts:
        empty = np.zeros(0, np.int64)
        none = np.zeros(0, bool)
        return Readings(
            names,
            empty,
            empty,
            np.zeros(0),
            np.zeros(0, np.int32),
            np.zeros(0, np.int16),
            none,
            np.zeros(0, np.uint8),
        )
    table = parts[0]
    if len(parts) > 1:
        table = _concatenated(parts)
    table.names = names
    if len(parts) > 1 or not bool((table.start[1:] >= table.start[:-1]).all()):
        order = np.lexsort((table.seconds, table.start))
        for name in ("start", "seconds", "kwh", "line", "file", "estimated", "reason", "spread"):
            array = getattr(table, name)
            if array is not None:
                setattr(table, name, array[order])
    return table


def _concatenated(parts: list[Readings]) -> Readings:
    reasons = ["used"]
    codes = []
    for part in parts:
        for why in part.reasons[1:]:
            if why not in reasons:
                reasons.append(why)
        table = np.array([reasons.index(why) for why in part.reasons], np.uint8)
        codes.append(table[part.reason])
    spread = None
    if any(part.spread is not None for part in parts):
        spread = np.concatenate(
            [p.spread if p.spread is not None else np.zeros(len(p.start), bool) for p in parts]
        )
    inferred: dict[str, str] = {}
    for part in parts:
        inferred |= part.inferred
    return Readings(
        names=[],
        start=np.concatenate([part.start for part in parts]),
        seconds=np.concatenate([part.seconds for part in parts]),
        kwh=np.concatenate([part.kwh for part in parts]),
        line=np.concatenate([part.line for part in parts]),
        file=np.concatenate([part.file for part in parts]),
        estimated=np.concatenate([part.estimated for part in parts]),
        reason=np.concatenate(codes),
        reasons=reasons,
        inferred=inferred,
        remarks=[remark for part in parts for remark in part.remarks],
        spread=spread,
    )

"""Readings that cannot be true: sentinels, spikes beyond the connected load, negatives."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.study_records import Study
from mv.base.wording import counted
from mv.cleaning.limits import LOAD_MARGIN, trusted_kw_of
from mv.cleaning.lumps import spread_lumps
from mv.cleaning.readings import Readings, power_of
from mv.cleaning.stuck import remark_spells, set_aside_stuck

# Numbers that loggers and control systems write for "no reading"; common practice, no source.
SENTINELS = (
    99.99, 999.0, 999.9, 9999.0, 9999.9, 9999.99, 99999.0, 99999.9, 999999.0, 9999999.0, 99999999.0, 7999.0,
    7999.99, 6553.5, 32767.0, 32768.0, 65534.0, 65535.0, 2147483647.0, 4294967295.0, 1e9, 1e10, 1e30,
    3.4028235e38,
)  # fmt: skip
SENTINEL_RATIO = 5.0  # a sentinel stands this far above every other reading; no source
SPIKE_RATIO = 5.0  # without a connected load: this far above the 99.5th percentile; no source
NOISE_SHARE = 0.02  # small negatives up to this share of the usual level are noise about zero; no source
MOSTLY_NEGATIVE = 0.5
PAIR_INTERVALS = 4  # a correction stands within this many intervals of its negative; no source


def set_aside_faults(table: Readings, meter: Meter, study: Study) -> None:
    """Set aside what cannot be a reading of this meter; remark what a person must judge."""
    used = table.used & (table.seconds > 0)
    if not used.any():
        return
    _sentinels(table, meter)
    _negatives(table, meter)
    spread_lumps(table, meter, study)
    set_aside_stuck(table)
    _spikes(table, meter, study)
    if meter.measures == "lighting":
        remark_spells(table, study.site.timezone)


def _sample(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """At most a few thousand of the values, evenly taken: enough for a first look."""
    return values[:: max(len(values) // 4001, 1)]


def _sentinels(table: Readings, meter: Meter) -> None:
    high, low = float(table.kwh.max()), float(table.kwh.min())
    middle = float(np.median(np.abs(_sample(table.kwh))))
    if high <= 50 * max(middle, 1e-9) and low >= 0:
        return
    raw_value = np.abs(table.kwh)
    candidates = raw_value > 0
    match = np.zeros(len(raw_value), bool)
    per_hour = np.where(table.seconds > 0, table.seconds, 3600) / 3600.0
    for number in SENTINELS:
        for factor in (1.0, 1e-3, 1e3):
            target = number * factor * abs(meter.multiplier)
            for one in (target, target * per_hour):
                match |= np.abs(raw_value - one) <= 1e-8 + 1e-9 * one
    match &= candidates & table.used
    if not match.any():
        return
    rest = raw_value[table.used & ~match]
    ceiling = float(rest.max()) if len(rest) else 0.0
    match &= (raw_value > SENTINEL_RATIO * ceiling) | (
        (table.kwh < 0) & (low == table.kwh) & (raw_value > ceiling)
    )
    count = table.set_aside("sentinel value", match)
    if count:
        table.remarks.append(
            Remark(
                "sentinel",
                f"{_readings(count)} a number that stands for no reading, such as "
                f"{float(table.kwh[match][0]):g} kWh; it is no energy and is not counted as read",
                lines=table.lines_text(match),
            )
        )
        table.kwh[match] = 0.0


def _negatives(table: Readings, meter: Meter) -> None:
    used = table.used & (table.seconds > 0)
    negative = used & (table.kwh < 0)
    if not negative.any():
        return
    moving = used & (table.kwh != 0)
    if negative.sum() > MOSTLY_NEGATIVE * moving.sum():
        table.remarks.append(_reversed(meter, int(negative.sum())))
        if meter.measures == "lighting":
            table.set_aside("negative", negative)
        return
    if meter.measures != "lighting":
        table.remarks.append(
            Remark(
                "negative",
                f"{int(negative.sum())} readings are negative: energy flows out, as with solar behind the "
                "meter",
                lines=table.lines_text(negative),
                remedy="A net reading hides what the site used; use a gross meter if there is one.",
            )
        )
        return
    level = float(np.quantile(table.kwh[used], 0.95))
    noise = negative & (table.kwh >= -NOISE_SHARE * max(level, 0.0))
    _net_pairs(table, negative & ~noise, level)
    count = table.set_aside("negative", negative & ~noise & table.used & (table.kwh < 0))
    if count:
        table.remarks.append(
            Remark(
                "negative",
                f"{count} readings are negative, which lighting cannot be",
                lines=table.lines_text(negative & ~noise),
                remedy="Check for solar behind the meter, a reversed current transformer, or corrections.",
            )
        )


def _reversed(meter: Meter, count: int) -> Remark:
    return Remark(
        "reversed",
        f"most readings that are not zero are negative ({count}): the meter or a current transformer may "
        "be reversed",
        remedy="If that is so (a photo or a spot reading shows it), set multiplier = -1.0 in [[meter]] id "
        f"= {meter.id!r}; "
        "a transformer on the wrong phase cannot be mended so.",
    )


def _net_pairs(table: Readings, negative: NDArray[np.bool_], level: float) -> None:
    """A negative correction and the surplus it takes back, within a few intervals, are netted.

    The pair's sum is spread over both readings, marked as estimated; the total is kept.
    """
    ceiling = max(level, 0.0)
    netted = 0
    for row in np.flatnonzero(negative).tolist():
        low, high = max(row - PAIR_INTERVALS, 0), min(row + PAIR_INTERVALS + 1, len(table.kwh))
        near = np.arange(low, high)
        near = near[table.used[near] & (table.kwh[near] > 1.2 * ceiling)]
        if len(near) == 0:
            continue
        mate = near[np.argmin(np.abs(table.kwh[near] + table.kwh[row]))]
        total = table.kwh[mate] + table.kwh[row]
        if -0.1 * ceiling <= total <= 2.2 * ceiling:
            table.kwh[[mate, row]] = total / 2.0
            table.estimated[[mate, row]] = True
            netted += 1
    if netted:
        table.remarks.append(
            Remark(
                "netted-pairs",
                f"{netted} negative corrections were netted with the surplus beside them; both readings "
                "count as estimated",
                lines=table.lines_text(negative),
            )
        )


def _spikes(table: Readings, meter: Meter, study: Study) -> None:
    """Beyond the connected load a reading cannot be the lighting. Without one, only remark."""
    used = table.used & (table.seconds > 0)
    if not used.any():
        return
    power = power_of(table)
    load = trusted_kw_of(table, meter, study)
    if load is None:
        _remark_outliers(table, power, used)
        return
    above = used & (power > LOAD_MARGIN * load)
    count = int(above.sum())
    if count == 0:
        return
    why = f"beyond {LOAD_MARGIN:g} times the connected load"
    table.set_aside("spike", above)
    table.remarks.append(Remark("spike", f"{_readings(count)} {why}", lines=table.lines_text(above)))


def _remark_outliers(table: Readings, power: NDArray[np.float64], used: NDArray[np.bool_]) -> None:
    values = power[used]
    if len(values) < 48:
        return
    high = float(values.max())
    if high <= SPIKE_RATIO * float(np.quantile(_sample(values), 0.9)):
        return
    level = float(np.quantile(values, 0.995))
    if level <= 0 or high <= SPIKE_RATIO * level:
        return
    above = used & (power > SPIKE_RATIO * level)
    table.remarks.append(
        Remark(
            "outlier",
            f"{_readings(int(above.sum()))} over {SPIKE_RATIO:g} times the level that 99.5 % of readings "
            f"keep below ({level:.3g} kW); they are used, as no connected load is known that rules them out",
            lines=table.lines_text(above),
            remedy="Give the meter's zones fixtures and watts, and what no lamp can draw is set aside.",
        )
    )


def _readings(count: int) -> str:
    return counted(count, "reading is", "readings are")

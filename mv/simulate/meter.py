"""From true minute power to what a meter records: interval, gain, noise, resolution."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
import pandas as pd

from mv.simulate.arrays import Bools, Floats, Ints, stream
from mv.simulate.site import SimulatedSite

TO_KILO = {"kWh": 1.0, "Wh": 1000.0, "kW": 1.0, "W": 1000.0}
LOGGER_THRESHOLD = 0.05  # of full light; common practice, no source
FaultKind = Literal["gap", "duplicate", "lump", "spike", "text", "clock"]
TimeStyle = Literal["iso offset", "iso local", "utc", "day first", "month first"]


@dataclass(frozen=True)
class FileFault:
    """Something wrong in a file, from a local wall-clock time on; a spike multiplies by `size`,
    "text" leaves the row with no number in it, "clock" stamps the rows `size` minutes late."""

    kind: FaultKind
    when: datetime
    minutes: int = 0
    size: float = 1.0


@dataclass(frozen=True)
class MeterDesign:
    """A meter and the shape of its file. `resolution` is in `unit`; `gain` 1.01 reads 1 % high."""

    id: str
    zones: tuple[str, ...]
    interval_minutes: int = 15
    quantity: Literal["energy", "power", "register", "on-off"] = "energy"
    unit: Literal["kWh", "Wh", "kW", "W"] = "kWh"
    resolution: float = 0.01
    gain: float = 1.0
    noise_fraction: float = 0.002  # of the reading, independent
    starting_kw: float = 0.0  # below this mean power the meter registers nothing
    whole_building: bool = False
    stamp: Literal["start", "end"] = "start"
    time_style: TimeStyle = "iso offset"
    separator: str = ","
    decimal: str = "."
    time_column: str = "timestamp"
    value_column: str = "kWh"
    preamble: tuple[str, ...] = ()
    split_by_year: bool = False
    compressed: bool = False
    register_start: float = 20431.5
    faults: tuple[FileFault, ...] = ()
    study_keys: tuple[str, ...] | None = None  # None: every key is stated in study.toml


@dataclass(frozen=True)
class Readings:
    """What a meter recorded, in file order and in its unit, by UTC interval start.

    A register is read at instants: it starts with what it showed before the first interval.
    """

    stamps: pd.DatetimeIndex
    values: Floats

    def chosen(self, rows: Bools | Ints) -> "Readings":
        """Only these rows, in this order."""
        return Readings(self.stamps[rows], self.values[rows])


def meter_power_kw(site: SimulatedSite, meter: MeterDesign) -> Floats:
    """True power behind a meter, kW per minute."""
    if meter.whole_building:
        return site.actual_total_kw
    total: Floats = np.sum([site.zone(name).actual_kw for name in meter.zones], axis=0)
    return total


def interval_energy_kwh(power_kw: Floats, interval_minutes: int) -> Floats:
    """Energy of each whole interval, kWh; the integral of minute power."""
    whole = power_kw[: len(power_kw) // interval_minutes * interval_minutes]
    energy: Floats = whole.reshape(-1, interval_minutes).sum(axis=1) / 60.0
    return energy


def read_meter(site: SimulatedSite, meter: MeterDesign) -> Readings:
    """The meter's record of the whole span; of a state logger, the moments lamps went on or off.

    Energy is counted in whole steps of the resolution and the rest carried on, as a pulse or
    register does; power is rounded reading by reading.
    """
    if meter.quantity == "on-off":
        return _switchings(site, meter)
    rng = stream(site.seed, "meter", meter.id)
    energy = interval_energy_kwh(meter_power_kw(site, meter), meter.interval_minutes)
    noise = 1.0 + meter.noise_fraction * rng.standard_normal(len(energy))
    energy[energy * (60.0 / meter.interval_minutes) < meter.starting_kw] = 0.0
    sensed = np.clip(energy * meter.gain * noise, 0.0, None) * TO_KILO[meter.unit]
    stamps = site.clock.stamps(meter.interval_minutes)
    if meter.quantity == "power":
        mean = sensed * (60.0 / meter.interval_minutes)
        return Readings(stamps, np.round(mean / meter.resolution) * meter.resolution)
    steps = np.floor((np.cumsum(sensed) + rng.random() * meter.resolution) / meter.resolution)
    if meter.quantity == "energy":
        return Readings(stamps, np.diff(steps, prepend=0.0) * meter.resolution)
    instants = pd.DatetimeIndex(stamps.union(stamps[-1:] + pd.Timedelta(minutes=meter.interval_minutes)))
    return Readings(instants, meter.register_start + np.append(0.0, steps) * meter.resolution)


def _switchings(site: SimulatedSite, meter: MeterDesign) -> Readings:
    """State changes as a light logger sees them: on above a twentieth of the brightest minute."""
    power = meter_power_kw(site, meter)
    on = power > LOGGER_THRESHOLD * power.max()
    change = np.append(0, np.flatnonzero(np.diff(on.astype(np.int8))) + 1)
    return Readings(pd.DatetimeIndex(site.clock.stamps()[change]), on[change].astype(np.float64))

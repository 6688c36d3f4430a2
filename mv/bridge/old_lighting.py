"""How long the old lighting would have burned, and what it would have drawn with new lamps."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

PLATEAU_QUANTILE = 0.995
"""Share of metered time below the power of all old lamps burning. Common practice, no source."""
PLATEAU_TRUSTED = (0.80, 1.08)
"""Plateau over stated connected load within which it counts. Common practice, no source."""
FLAT_WITHIN = 0.03
"""The 0.98 and the 0.995 quantile agree within this share where lamps do burn together."""
STATED_LOAD_ERROR = 0.03
"""Standard error of a stated connected load, fraction: failed lamps, voltage. No source."""
PLATEAU_ERROR = 0.015
"""Standard error of a metered plateau, fraction: lamps fail and are replaced. No source."""
ALL_BURNING = 0.85
"""Share of the plateau above which all lamps burn but for the failed ones. Common practice."""
FINEST_MINUTES = 15.0
FLOOR_QUANTILE = 0.005
FLOOR_MOST = 0.15
"""A night floor above this share of the plateau is lamps left on, not a load that never stops."""
FLOOR_TOLD = 0.01
"""Share of the plateau from which the reason names the floor. No source."""


@dataclass(frozen=True)
class OldLoad:
    """The load of the old lamps all burning, kW, its relative standard error, and the floor."""

    lamps_kw: float
    relative_error: float
    floor_kw: float
    why: str
    floor_known: bool = False

    def egress_after(self, after_kw: float) -> tuple[float, float] | None:
        """Range of the load that never stops after the retrofit, kW; None where it is not known.

        It was `floor_kw` before; its lamps were changed with the others, or not at all.
        """
        if not self.floor_known:
            return None
        return self.floor_kw * min(1.0, after_kw / self.lamps_kw), self.floor_kw


@dataclass(frozen=True)
class OldUse:
    """The old lighting's energy over the reporting period and its standard error, kWh."""

    energy: float
    error: float
    load: OldLoad

    def burning_hours(self, hours: float) -> float:
        """Hours that the old lamps would have burned at their full load, of `hours` in all."""
        return max(0.0, self.energy - self.load.floor_kw * hours) / self.load.lamps_kw

    def more(self) -> "OldUse":
        """One standard error more energy."""
        return replace(self, energy=self.energy + self.error)

    def heavier(self) -> "OldUse":
        """The same energy by a load one standard error higher."""
        kw = self.load.lamps_kw * (1.0 + self.load.relative_error)
        return replace(self, load=replace(self.load, lamps_kw=kw))


def old_load(baseline_power_kw: pd.Series | None, connected_kw: float, *, quantile_minutes: float) -> OldLoad:
    """The old lamps' real load from their metered plateau, else the stated connected load.

    The plateau tells failed lamps and true input watts from the stated ones; it is taken where
    it is flat (lamps do all burn at times) and near the stated load. `quantile_minutes` is the
    metering interval: coarse metering blunts plateaus, so none is read beyond 60 minutes.
    """
    stated = OldLoad(connected_kw, STATED_LOAD_ERROR, 0.0, "stated connected load before")
    if baseline_power_kw is None or quantile_minutes > 60.0:
        return stated
    if quantile_minutes < FINEST_MINUTES:  # single pulses are neither floor nor plateau
        baseline_power_kw = baseline_power_kw.resample(f"{FINEST_MINUTES:g}min").mean()
        quantile_minutes = FINEST_MINUTES
    power = baseline_power_kw.dropna().to_numpy(dtype=float)
    if len(power) * quantile_minutes < 7 * 24 * 60.0:
        return stated
    floor, lower, top = np.quantile(power, [FLOOR_QUANTILE, 0.98, PLATEAU_QUANTILE])
    known = bool(floor <= FLOOR_MOST * top)
    floor = floor if known else 0.0
    lamps = float(np.mean(power[power >= ALL_BURNING * top])) - floor
    flat = top - lower <= FLAT_WITHIN * top
    low, high = PLATEAU_TRUSTED
    if flat and low * connected_kw <= lamps <= high * connected_kw:
        above = f" above the {floor:.3g} kW that never stopped" if floor >= FLOOR_TOLD * lamps else ""
        why = f"metered plateau before, {lamps:.4g} kW{above} (stated {connected_kw:.4g} kW)"
        return OldLoad(lamps, PLATEAU_ERROR, float(floor), why, known)
    return OldLoad(connected_kw, STATED_LOAD_ERROR, float(floor), stated.why, known)

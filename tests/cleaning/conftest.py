"""Builds raw meters and studies without files, so that each fault stands alone."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.base.meter_records import Meter
from mv.base.raw import RawFile, RawMeter
from mv.base.series import MeterSeries
from mv.base.study_records import Site, Study
from mv.cleaning import clean_meter

CHICAGO = "America/Chicago"


def raw_file(
    stamps: pd.DatetimeIndex,
    values: np.ndarray,
    *,
    quantity: str = "energy",
    minutes: float | None = 15.0,
    name: str = "a.csv",
    **more: Any,
) -> RawFile:
    units = {"energy": "kWh", "register": "kWh", "power": "kW", "on-off": "state", "pulses": "pulses"}
    return RawFile(
        name=name,
        quantity=quantity,  # type: ignore[arg-type]
        unit=units[quantity],
        interval_seconds=None if minutes is None else round(minutes * 60),
        start=stamps.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[s]").astype(np.int64),
        value=np.asarray(values, float),
        line=np.arange(2, 2 + len(stamps), dtype=np.int32),
        **more,
    )


def study_of(*, zones: list[dict[str, Any]] | None = None, periods: dict[str, Any] | None = None,
             latitude: float = 41.9, longitude: float = -87.6, **meter: Any) -> Study:  # fmt: skip
    return Study(
        format=1,
        site=Site(latitude=latitude, longitude=longitude, timezone=CHICAGO),
        meter=(Meter.model_validate({"id": "m", "files": ["a.csv"], **meter}),),
        zone=tuple(zones or ()),
        periods=periods,
    )


@pytest.fixture
def clean() -> Callable[..., MeterSeries]:
    """clean(files..., study=...) -> MeterSeries."""

    def run(*files: RawFile, study: Study | None = None) -> MeterSeries:
        study = study or study_of()
        ordered = sorted(files, key=lambda file: int(file.start.min()))
        return clean_meter(RawMeter("m", tuple(ordered)), study.meter[0], study)

    return run


@pytest.fixture
def quarter_hours() -> Callable[..., pd.DatetimeIndex]:
    """quarter_hours(days, first) -> UTC stamps from local midnight."""

    def make(days: int, first: str = "2024-01-08", minutes: int = 15) -> pd.DatetimeIndex:
        start = pd.Timestamp(first, tz=CHICAGO).tz_convert("UTC")
        return pd.date_range(start, periods=days * 1440 // minutes, freq=f"{minutes}min")

    return make


@pytest.fixture
def timetable() -> Callable[..., np.ndarray]:
    """timetable(stamps) -> kWh of 8 kW from 7 to 19 on weekdays and 0.4 kW else, with meter noise."""

    def make(stamps: pd.DatetimeIndex, *, noise: float = 0.01, zone: str = CHICAGO) -> np.ndarray:
        local = stamps.tz_convert(zone)
        on = (local.hour >= 7) & (local.hour < 19) & (local.day_of_week < 5)
        rng = np.random.default_rng(5)
        return np.where(on, 2.0, 0.1) * (1 + noise * rng.standard_normal(len(stamps)))

    return make


@pytest.fixture
def raw() -> Callable[..., RawFile]:
    """raw(stamps, values, quantity=..., minutes=...) -> RawFile."""
    return raw_file


@pytest.fixture
def study() -> Callable[..., Study]:
    """study(zones=..., periods=..., **meter keys) -> Study in Chicago."""
    return study_of


@pytest.fixture
def codes() -> Callable[[MeterSeries], set[str]]:
    """The codes of a series' remarks."""
    return lambda series: {remark.code for remark in series.ledger.remarks}

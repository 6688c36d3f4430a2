"""What the savings need of a fitted model, whichever stage made it."""

from collections.abc import Sequence
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.mixture import StudentMixture


class PublishedHalfWidth(Protocol):
    """A published method's half-width."""

    @property
    def method(self) -> str: ...
    @property
    def half_width(self) -> float | None: ...
    @property
    def source(self) -> str: ...


class EnergyModel(Protocol):
    """A model by local day: its expectation, and what is believed of totals."""

    @property
    def kind(self) -> str: ...
    @property
    def residuals(self) -> pd.Series: ...
    @property
    def columns(self) -> tuple[str, ...]: ...

    def expected(self, drivers: pd.DataFrame) -> pd.Series: ...
    def predicted_totals(
        self, drivers: pd.DataFrame, groups: Sequence[npt.NDArray[np.bool_]]
    ) -> list[StudentMixture]: ...
    def mean_total(self, drivers: pd.DataFrame) -> StudentMixture: ...
    def beyond_weather(self, drivers: pd.DataFrame) -> pd.Series: ...
    def unknown_share(self, drivers: pd.DataFrame) -> float: ...
    def effect_total(self, term: str, drivers: pd.DataFrame) -> StudentMixture | None: ...
    def published_intervals(
        self, drivers: pd.DataFrame, confidence: float
    ) -> Sequence[PublishedHalfWidth]: ...

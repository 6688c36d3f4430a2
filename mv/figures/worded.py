"""A figure with all that a reader who cannot see it, or doubts it, needs."""

from dataclasses import dataclass
from typing import Any

import pandas as pd


@dataclass(frozen=True)
class FigureWithWords:
    """A drawn figure, its title, a caption that says what to see in it, and its numbers.

    `figure` is a plotly Figure, or None where there is nothing to draw; the caption then says why.
    `table` holds the numbers drawn, its columns named for readers with their units.
    """

    title: str
    caption: str
    table: pd.DataFrame
    figure: Any | None

    @property
    def accessible_name(self) -> str:
        """What a screen reader says in the figure's place."""
        return f"{self.title}. {self.caption}"


def not_drawn(title: str, why: str) -> FigureWithWords:
    """The place of a figure that the data do not support, with the reason."""
    return FigureWithWords(title, why, pd.DataFrame(), None)

"""The columns of a table by what they are for."""

from dataclasses import dataclass, field

from mv.readers.unit_names import Unit


@dataclass(frozen=True)
class TimeColumns:
    """Where a moment is written: one column, or a date beside a clock or an hour number.

    `form` is text, epoch, serial, hour, hhmm or hhmmss.
    """

    date: int
    clock: int | None = None
    form: str = "text"

    @property
    def all(self) -> list[int]:
        """Every column it takes."""
        return [self.date] if self.clock is None else [self.date, self.clock]


@dataclass(frozen=True)
class TextColumns:
    """Columns beside time and reading: unit, quality flags, and keys that part registers or meters.

    `multiplier` is a column of one number that the file names a multiplier.
    """

    unit: int | None = None
    quality: tuple[int, ...] = ()
    keys: tuple[int, ...] = ()
    multiplier: tuple[int, float] | None = None

    @property
    def all(self) -> tuple[int, ...]:
        """Every column whose words are read."""
        unit = () if self.unit is None else (self.unit,)
        return tuple(dict.fromkeys([*self.keys, *self.quality, *unit]))


@dataclass(frozen=True)
class Roles:
    """The columns by what they are for."""

    start: TimeColumns | None
    end: TimeColumns | None
    values: tuple[int, ...]
    units: tuple[Unit | None, ...]
    texts: "TextColumns"
    time_words: str = ""
    on_and_off: bool = False  # two columns, one marks each switching on, the other each switching off
    inferred: dict[str, str] = field(default_factory=dict)

    @property
    def time(self) -> TimeColumns:
        """The column that stamps the reading: its start where there is one."""
        chosen = self.start or self.end
        assert chosen is not None
        return chosen

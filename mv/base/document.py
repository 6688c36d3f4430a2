"""A printed document as records: what it says, apart from how HTML or PDF sets it.

Every text is plain text: the renderers escape it. Numbers are already words when they come here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Align = Literal["left", "right"]
Tone = Literal["plain", "lead", "note", "cannot"]


@dataclass(frozen=True, slots=True)
class Prose:
    """One paragraph."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a section."""

    text: str


@dataclass(frozen=True, slots=True)
class Listing:
    """A list; `numbered` where the order matters."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and values, one pair a line."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a grid; `share` is its part of the width beside the others'."""

    title: str
    align: Align = "left"
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Grid:
    """A table. `total_rows` at its foot are set apart."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    total_rows: int = 0
    note: str = ""

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"'{self.title}': a row of {len(row)} in {len(self.columns)} columns")


@dataclass(frozen=True, slots=True)
class Drawing:
    """A static chart; an empty `title` leaves the section's own.

    `narrow_svg` is the same drawn for a narrow screen; `spoken` says what it shows.
    """

    title: str
    svg: str
    caption: str
    spoken: str
    narrow_svg: str = ""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two things side by side where there is room, charts drawn narrow."""

    left: Drawing | Grid
    right: Drawing | Grid


@dataclass(frozen=True, slots=True)
class Caution:
    """Sentences a reader must see before acting."""

    title: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """One number that a page leads with: its name, the number, and what qualifies it."""

    name: str
    value: str
    detail: str


@dataclass(frozen=True, slots=True)
class Figures:
    """A row of leading numbers."""

    items: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Notice:
    """A finding or another thing to act on: heading, one line of facts, what to do; `aside` stands small.

    `drawings` show it: on the screen all of them drawn narrow, on paper the first alone as it is, and
    none where `drawn_on_paper` is False.
    """

    title: str
    line: str
    causes: tuple[str, ...]
    checks: tuple[str, ...]
    aside: str = ""
    drawings: tuple[Drawing, ...] = ()
    drawn_on_paper: bool = True


@dataclass(frozen=True, slots=True)
class SignatureLines:
    """Empty lines for people to sign: nothing is ever filled in here."""

    roles: tuple[str, ...]


Block = (
    Prose | Heading | Listing | Facts | Grid | Drawing | Pair | Caution | Figures | Notice | SignatureLines
)


@dataclass(frozen=True, slots=True)
class Section:
    """A headed part; `letter` names it where a programme's list of contents does.

    `on_paper` False: it is for the screen and stays off a print.
    """

    title: str
    blocks: tuple[Block, ...]
    letter: str = ""
    on_paper: bool = True


@dataclass(frozen=True, slots=True)
class Document:
    """A whole document. `foot` stands at the foot of every printed page.

    `one_page`: what is on paper is set tightly, to fit one sheet of A4 or Letter; `larger`: in type
    somewhat larger, where less has to stand on it.
    """

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    opening: tuple[Block, ...] = ()
    foot: str = ""
    one_page: bool = False
    larger: bool = False


def grid(
    title: str,
    columns: Sequence[tuple[str, Align, float]],
    rows: Sequence[Sequence[str]],
    *,
    total_rows: int = 0,
    note: str = "",
) -> Grid:
    """A Grid from plain tuples."""
    return Grid(
        title,
        tuple(Column(*column) for column in columns),
        tuple(tuple(row) for row in rows),
        total_rows,
        note,
    )

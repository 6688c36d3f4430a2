"""Writes cells so that a stated text stays a text and every total is a formula with its value."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from mv.base.wording import settled

RISKY_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
LONGEST_TEXT = 32_000  # a cell holds 32,767 characters
LINE_POINTS = 15.0  # height of a line of text
NAME_CHARACTERS = 31  # of a sheet's name


def harmless(text: object) -> str:
    """A text that no spreadsheet program takes for a formula, now or after a detour through CSV.

    Control characters, which a workbook cannot hold, are dropped.
    """
    shown = "".join(sign for sign in str(text) if sign >= " " or sign in "\t\n\r")[:LONGEST_TEXT]
    return f"'{shown}" if shown.startswith(RISKY_STARTS) else shown


def harmless_cell(value: object) -> object:
    """Numbers stay numbers; texts become harmless."""
    return harmless(value) if isinstance(value, str) else value


@dataclass
class Looks:
    """The workbook's formats. Formula cells are set in ink, stated values in the expected's colour."""

    head: Any
    right_head: Any
    text: Any
    wrapped: Any
    title: Any
    note: Any
    whole: Any
    exact: Any
    fine: Any
    share: Any
    date: Any
    total: Any
    total_exact: Any
    agrees: Any

    @classmethod
    def of(cls, book: Any) -> "Looks":
        """Add the formats to a workbook."""
        head = {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom", "font_color": "#4f6068"}
        return cls(
            head=book.add_format(head),
            right_head=book.add_format({**head, "align": "right"}),
            text=book.add_format({"valign": "top"}),
            wrapped=book.add_format({"valign": "top", "text_wrap": True}),
            title=book.add_format({"bold": True, "font_size": 14}),
            note=book.add_format({"font_color": "#4f6068", "text_wrap": True, "valign": "top"}),
            whole=book.add_format({"num_format": "#,##0"}),
            exact=book.add_format({"num_format": "#,##0.0"}),
            fine=book.add_format({"num_format": "0.0000"}),
            share=book.add_format({"num_format": "0.0 %"}),
            date=book.add_format({"num_format": "yyyy-mm-dd", "align": "left"}),
            total=book.add_format({"num_format": "#,##0", "bold": True, "top": 1}),
            total_exact=book.add_format({"num_format": "#,##0.0", "bold": True, "top": 1}),
            agrees=book.add_format({"bold": True, "font_color": "#0d6480", "align": "center"}),
        )


class Sheet:
    """One worksheet; rows and columns count from nought."""

    def __init__(self, book: Any, looks: Looks, name: str, *, heading: str, note: str = "") -> None:
        self.name, self.looks = name[:NAME_CHARACTERS], looks
        self.page = book.add_worksheet(self.name)
        self._lines: dict[int, int] = {}
        self.page.hide_gridlines(2)
        self.page.set_landscape()
        self.page.set_paper(9)  # A4
        self.page.fit_to_pages(1, 0)
        self.text(0, 0, heading, looks.title)
        if note:
            self.text(1, 0, note, looks.text)

    def head(self, row: int, titles: Sequence[str], widths: Sequence[float]) -> None:
        """Column heads; they stay in view and are repeated on every printed page.

        A title that begins with > stands above numbers, at the right.
        """
        for column, (title, width) in enumerate(zip(titles, widths, strict=True)):
            look = self.looks.right_head if title.startswith(">") else self.looks.head
            self.text(row, column, title.removeprefix(">"), look)
            self.page.set_column(column, column, width)
        self.page.freeze_panes(row + 1, 0)
        self.page.repeat_rows(row)

    def text(self, row: int, column: int, text: object, look: Any = None) -> None:
        """A text, whatever it looks like."""
        shown = "" if text is None else harmless(text)
        self.page.write_string(row, column, shown, look or self.looks.text)

    def long_text(self, row: int, column: int, text: str, width: int) -> None:
        """A text that wraps within `width` characters; the row grows to hold it."""
        self.text(row, column, text, self.looks.wrapped)
        lines = -(-len(text) // width) or 1
        self._lines[row] = max(lines, self._lines.get(row, 1))
        self.page.set_row(row, LINE_POINTS * self._lines[row])

    def number(self, row: int, column: int, value: float | None, look: Any = None) -> None:
        """A number; an empty cell where there is none."""
        if value is not None:
            self.page.write_number(row, column, settled(value), look or self.looks.exact)

    def cell(self, row: int, column: int, value: object, look: Any = None) -> None:
        """A number or a text, by what it is."""
        if isinstance(value, bool) or value is None or not isinstance(value, int | float):
            words = ("yes" if value else "no") if isinstance(value, bool) else value
            self.text(row, column, words, look)
        else:
            self.number(row, column, float(value), look)

    def formula(self, row: int, column: int, formula: str, value: float | str, look: Any = None) -> None:
        """A live formula; `value` is shown until a program recalculates."""
        shown = value if isinstance(value, str) else settled(value)
        self.page.write_formula(row, column, formula, look or self.looks.exact, shown)


def address(row: int, column: int, *, sheet: str = "", fixed: bool = True) -> str:
    """ "'By meter'!$C$5" for a cell that counts from nought."""
    from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped, unused-ignore]

    cell = xl_rowcol_to_cell(row, column, row_abs=fixed, col_abs=fixed)
    return f"'{sheet}'!{cell}" if sheet else str(cell)


def span(first: int, last: int, column: int, *, sheet: str = "") -> str:
    """ "'Daily'!$C$5:$C$900"."""
    return f"{address(first, column, sheet=sheet)}:{address(last, column)}"

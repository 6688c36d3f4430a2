"""The shapes that dates and times of day are written in, and where their parts stand.

A cell's shape is the cell with each digit written 0 and each letter written a (T and Z kept), so
that a whole column of the same shape is read by position, without a guess per cell.
"""

import re
from dataclasses import dataclass
from functools import cache, lru_cache

L = "[aTZ]"
_DATES = (
    r"(?P<y>0000)(?P<s1>[-/. ])(?P<m>00?)(?P=s1)(?P<d>00?)",
    r"(?P<a>00?)(?P<s2>[-/. ])(?P<b>00?)(?P=s2)(?P<y>0000)",
    r"(?P<a>00?)(?P<s3>[-/.])(?P<b>00?)(?P=s3)(?P<c>00)",
    r"(?P<y8>00000000)",
    rf"(?P<d>00?)[-/. ]{{0,2}}(?P<mon>{L}{{3,9}})\.?[-/., ]{{0,2}}(?P<y>0000)",
    rf"(?P<d>00?)[-/. ]{{0,2}}(?P<mon>{L}{{3,9}})\.?[-/., ]{{0,2}}(?P<yy>00)",
    rf"(?P<mon>{L}{{3,9}})\.? ?(?P<d>00?)(?:aa)?,? +(?P<y>0000)",
    rf"(?P<y>0000)[-/. ]?(?P<mon>{L}{{3,9}})[-/. ]?(?P<d>00)",
)
_ZONE = (
    r"(?: ?(?:(?P<zs>[-+])(?P<zh>00)(?::?(?P<zm>00))?|"
    rf"(?P<zn>{L}{{1,5}})(?:(?P<zs2>[-+])(?P<zh2>00?)(?::?(?P<zm2>00))?)?))?"
)
_CLOCK = (
    r"(?P<H>00?)(?:(?P<ts>[:.])(?P<M>00)(?:(?P=ts)(?P<S>00)(?:[.,:](?P<F>0{1,9}))?)?)"
    r"(?: ?(?P<ap>a\.? ?a\.?)(?![aTZ0]))?"
)
_CLOCK_ZONED = rf"{_CLOCK}{_ZONE}"
_CLOCK_FRENCH = r"(?P<H>00?) ?a ?(?P<M>00)?"
_CLOCK_COMPACT = rf"(?P<H>00)(?P<M>00)(?P<S>00)?{_ZONE}"
_CLOCK_HOUR_AMPM = r"(?P<H>00?) ?(?P<ap>aa)"
_BETWEEN = r"(?:[T_]| *, *| - | +|:| ?a ?)"
_REST = rf"(?P<rest> ?(?:-|/|{L}{{2,4}}) ?0.*)?"
_WEEKDAY = rf"(?:(?P<wd>{L}{{2,12}})\.?,? +)?"
_TIMES = (_CLOCK_ZONED, _CLOCK_COMPACT, _CLOCK_HOUR_AMPM, _CLOCK_FRENCH)


@dataclass(frozen=True, slots=True)
class Shape:
    """Column spans of the parts of one shape; a part that is not there has no entry."""

    parts: dict[str, tuple[int, int]]

    @property
    def has_date(self) -> bool:
        """True where the shape carries a day."""
        return bool({"d", "a", "y8"} & self.parts.keys())

    @property
    def has_clock(self) -> bool:
        """True where the shape carries a time of day."""
        return "H" in self.parts


def _forms() -> list[str]:
    """The patterns of all shapes, the likeliest first."""
    forms = []
    for date in _DATES:
        for prefix in ("", _WEEKDAY):
            forms.append(rf"^{prefix}{date}{_REST}$")
            for clock in _TIMES:
                joint = _BETWEEN if clock != _CLOCK_COMPACT else "[T ]?"
                if clock == _CLOCK_COMPACT and "y8" not in date:
                    continue
                forms.append(rf"^{prefix}{date}{joint}{clock}{_REST}$")
    for clock in (_CLOCK, _CLOCK_HOUR_AMPM, _CLOCK_FRENCH):
        forms.append(rf"^{clock}{_REST}$")
        forms += [rf"^{clock},? +{date}$" for date in _DATES[:3]]
    return forms


_FORMS = _forms()


@cache
def _pattern(form: str) -> re.Pattern[str]:
    """A form's pattern, compiled when a cell first comes that far: most columns need a few of them."""
    return re.compile(form)


_TO_SHAPE = str.maketrans(
    {chr(code): "0" for code in range(48, 58)}
    | {chr(code): "a" for code in (*range(65, 91), *range(97, 123)) if chr(code) not in "TZ"}
    | {"\t": " "}
)


def shape_text(cell: str) -> str:
    """The shape of one cell; a letter outside ASCII counts as one letter a byte."""
    if cell.isascii():
        return cell.translate(_TO_SHAPE)
    flat = cell.encode("utf-8", "replace").decode("latin-1").translate(_TO_SHAPE)
    return "".join("a" if ord(mark) > 127 else mark for mark in flat)


@lru_cache(maxsize=4096)
def shape_of(text: str) -> Shape | None:
    """Where the parts stand in a cell of this shape text; None where it is no date or time."""
    if not 3 <= len(text) <= 80 or "0" not in text:
        return None
    for form in _FORMS:
        match = _pattern(form).match(text)
        if match:
            spans = {
                name: match.span(name)
                for name, found in match.groupdict().items()
                if found is not None and not name.startswith(("s1", "s2", "s3", "ts"))
            }
            return Shape(spans)
    return None

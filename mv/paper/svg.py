"""A sheet on which charts are drawn as static SVG: no script, no link, the same bytes each time."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

Anchor = Literal["start", "middle", "end"]
FACES = "'Libertinus Serif', Charter, 'Sitka Text', Cambria, Georgia, serif"
TEXT_SIZE = 12.0
# Mean width of a digit or letter of such faces, as a share of the text size (measured by eye; only for room).
LETTER_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Inks:
    """The colours of a chart as #rrggbb, one meaning each; `ramp` runs from little to much."""

    sheet: str
    ink: str
    muted: str
    rule: str
    metered: str
    expected: str
    saved: str
    attention: str
    faint: str
    ramp: tuple[str, ...]


@dataclass
class Sheet:
    """Collects the shapes of one chart. Lengths are in the viewBox's units, which print as points."""

    width: float
    height: float
    spoken: str
    parts: list[str] = field(default_factory=list)

    def rect(self, x: float, y: float, width: float, height: float, fill: str, extra: str = "") -> None:
        """A filled rectangle; a negative width or height runs the other way."""
        left, top = min(x, x + width), min(y, y + height)
        self.parts.append(
            f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(abs(width))}" height="{_n(abs(height))}" '
            f'fill="{fill}"{extra}/>'
        )

    def line(
        self, x1: float, y1: float, x2: float, y2: float, stroke: str, width: float = 1.0, dash: str = ""
    ) -> None:
        """A straight line; `dash` as SVG writes it."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" stroke="{stroke}" '
            f'stroke-width="{_n(width)}"{dashed}/>'
        )

    def path(
        self, points: Sequence[tuple[float, float]], stroke: str, width: float = 1.5, dash: str = ""
    ) -> None:
        """An open line through the points."""
        if not points:
            return
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        way = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)
        self.parts.append(
            f'<path d="{way}" fill="none" stroke="{stroke}" stroke-width="{_n(width)}" '
            f'stroke-linejoin="round"{dashed}/>'
        )

    def dots(self, points: Sequence[tuple[float, float]], radius: float, fill: str) -> None:
        """Round marks, all in one path."""
        if not points:
            return
        arc = f"a{_n(radius)} {_n(radius)} 0 1 0"
        way = "".join(
            f"M{_n(x - radius)} {_n(y)}{arc} {_n(2 * radius)} 0{arc} {_n(-2 * radius)} 0" for x, y in points
        )
        self.parts.append(f'<path d="{way}" fill="{fill}"/>')

    def diamond(self, x: float, y: float, reach: float, stroke: str, fill: str) -> None:
        """A square on its corner."""
        corners = ((x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y))
        way = "M" + "L".join(f"{_n(across)} {_n(down)}" for across, down in corners) + "Z"
        self.parts.append(f'<path d="{way}" fill="{fill}" stroke="{stroke}" stroke-width="1.8"/>')

    def text(
        self, x: float, y: float, words: str, fill: str, *,
        anchor: Anchor = "start", size: float = TEXT_SIZE, bold: bool = False,
    ) -> None:  # fmt: skip
        """A line of text on its baseline."""
        weight = ' font-weight="bold"' if bold else ""
        where = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self.parts.append(
            f'<text x="{_n(x)}" y="{_n(y)}" fill="{fill}" font-size="{_n(size)}"{weight}{where}>'
            f"{escape(words, quote=False)}</text>"
        )

    def svg(self) -> str:
        """The chart's SVG text."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(self.width)} {_n(self.height)}" '
            f'role="img" aria-label="{escape(self.spoken)}" font-family="{FACES}">'
            f"{''.join(self.parts)}</svg>"
        )


def room(words: str, size: float = TEXT_SIZE) -> float:
    """About how wide the words are set."""
    return len(words) * size * LETTER_SHARE


def shortened(words: str, width: float, size: float = TEXT_SIZE) -> str:
    """The words, cut with an ellipsis where they would be wider than `width`."""
    most = max(2, int(width / (size * LETTER_SHARE)))
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def _n(value: float) -> str:
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text

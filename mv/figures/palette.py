"""The colours, dashes and marks of every figure, and of the pages that carry them.

One meaning, one colour, one dash and one mark: what the meter read is petrol and solid, what the
baseline model expects is amber and dashed, what was promised is ink and dotted. The colours were
chosen by us and are held by tests to stay apart under the common colour-vision deficiencies and
to keep the contrast that WCAG 2.2 asks of graphics and text.
"""

from dataclasses import dataclass
from typing import Literal

Scheme = Literal["light", "dark"]


@dataclass(frozen=True, slots=True)
class Palette:
    """One scheme's colours, as #rrggbb."""

    paper: str  # the page
    sheet: str  # the panel a figure lies on
    ink: str  # text, and what was promised
    muted: str  # secondary text and axis labels
    rule: str  # grid lines and borders
    metered: str  # what the meter read; after the retrofit
    expected: str  # what the baseline model expects; before the retrofit
    saved: str  # the difference between the two
    attention: str  # what a person should look at
    faint: str  # set aside, installation, not in a fit


LIGHT = Palette(
    paper="#f4f6f5",
    sheet="#ffffff",
    ink="#17242a",
    muted="#4f6068",
    rule="#d3dbdc",
    metered="#0d6480",
    expected="#c0700a",
    saved="#7fb9c9",
    attention="#8a35b5",
    faint="#8b999f",
)

DARK = Palette(
    paper="#10171a",
    sheet="#172126",
    ink="#e6edef",
    muted="#a3b3b9",
    rule="#334249",
    metered="#63bbd4",
    expected="#eda64a",
    saved="#2d6475",
    attention="#c07af2",
    faint="#70818a",
)

# A ramp of rising lightness difference from the sheet: order shows without hue.
LIGHT_RAMP = ("#f3f7f7", "#cfe3e7", "#93c2cd", "#4b94a8", "#0d6480", "#06333f")
DARK_RAMP = ("#1b262b", "#1f4350", "#286b80", "#4098b2", "#86cbdd", "#e3f5f9")

DASHES = {"metered": "solid", "expected": "dash", "promised": "dot", "model": "dashdot"}
MARKS = {
    "metered": "circle",
    "expected": "diamond-open",
    "promised": "line-ns-open",
    "set aside": "x-thin-open",
    "attention": "triangle-up",
    "kept": "circle",
    "moved": "triangle-up",
    "cannot tell": "circle-open",
}


def palette(scheme: Scheme) -> Palette:
    """The colours of a scheme."""
    return DARK if scheme == "dark" else LIGHT


def scheme_named(text: str | None) -> Scheme:
    """What a screen says of itself, as a scheme; light where it says nothing known."""
    return "dark" if text == "dark" else "light"


def ramp(scheme: Scheme) -> tuple[str, ...]:
    """Low to high, for maps."""
    return DARK_RAMP if scheme == "dark" else LIGHT_RAMP


def veiled(colour: str, opacity: float) -> str:
    """A #rrggbb colour as rgba() with the opacity given."""
    red, green, blue = (int(colour[start : start + 2], 16) for start in (1, 3, 5))
    return f"rgba({red},{green},{blue},{opacity:g})"

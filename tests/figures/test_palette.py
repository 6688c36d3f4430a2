"""The colours stay apart for eyes of every kind, and stand out from their ground."""

from itertools import combinations

import numpy as np
import pytest

from mv.figures import DARK, LIGHT, Palette
from mv.figures.palette import ramp, scheme_named, veiled

# Dichromacy (severity 1.0), linear RGB to linear RGB: Machado, Oliveira and Fernandes (2009),
# "A Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15(6); from memory
DEFICIENCIES = {
    "none": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
APART = 20.0  # CIE 1976 colour difference; 2.3 is just noticeable (Mahy et al. 1994, from memory)
MEANINGS = ("metered", "expected", "ink", "attention")


def linear(colour: str) -> np.ndarray:
    """sRGB to linear light (IEC 61966-2-1)."""
    values = np.array([int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)])
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2)."""
    return float(linear(colour) @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """Linear sRGB to CIE 1976 L*a*b*, white D65."""
    to_xyz = np.array(
        [
            [0.4124564, 0.3575761, 0.1804375],
            [0.2126729, 0.7151522, 0.0721750],
            [0.0193339, 0.1191920, 0.9503041],
        ]
    )
    x, y, z = (to_xyz @ np.clip(rgb, 0, 1)) / np.array([0.95047, 1.0, 1.08883])
    fx, fy, fz = (np.cbrt(v) if v > (6 / 29) ** 3 else v / (3 * (6 / 29) ** 2) + 4 / 29 for v in (x, y, z))
    return np.array([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)])


def test_contrast_of_black_on_white_is_the_published_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_text_has_the_contrast_that_wcag_asks(palette: Palette) -> None:
    for ground in (palette.paper, palette.sheet):
        for text in (palette.ink, palette.muted, palette.metered):
            assert contrast(text, ground) >= 4.5  # WCAG 2.2, 1.4.3, level AA
    assert contrast(palette.sheet, palette.metered) >= 4.5


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_marks_have_the_contrast_that_wcag_asks_of_graphics(palette: Palette) -> None:
    for colour in (palette.metered, palette.expected, palette.ink, palette.attention):
        assert contrast(colour, palette.sheet) >= 3.0  # WCAG 2.2, 1.4.11, level AA


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("kind", DEFICIENCIES)
def test_meanings_stay_apart_under_colour_vision_deficiency(palette: Palette, kind: str) -> None:
    seen = {name: lab(DEFICIENCIES[kind] @ linear(getattr(palette, name))) for name in MEANINGS}
    for one, other in combinations(MEANINGS, 2):
        assert np.linalg.norm(seen[one] - seen[other]) >= APART, (one, other)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_map_rises_in_lightness_one_way_only(scheme: str) -> None:
    lightness = [lab(linear(colour))[0] for colour in ramp(scheme_named(scheme))]
    steps = np.diff(lightness)
    assert (steps < 0).all() or (steps > 0).all()


def test_a_veil_keeps_the_colour() -> None:
    assert veiled("#0d6480", 0.25) == "rgba(13,100,128,0.25)"

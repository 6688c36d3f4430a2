"""From one total to another in named steps; and an interval beside what was promised."""

from collections.abc import Sequence
from dataclasses import dataclass

from mv.paper.scale import scale_over, tick_words
from mv.paper.svg import Inks, Sheet, room, shortened


@dataclass(frozen=True, slots=True)
class ChainStep:
    """One step, kWh; `kwh` None: cannot be told. `words` stand at the right: the amount as text.

    `kind`: "total" stands on nought, "change" hangs from what came before.
    """

    name: str
    kwh: float | None
    words: str
    kind: str = "change"


def chain(steps: Sequence[ChainStep], inks: Inks, spoken: str, *, width: float) -> str:
    """Rows from top to bottom; bars to the right add, bars to the left take away."""
    narrow = width < 500
    row = 40.0 if narrow else 25.0
    sheet = Sheet(width, row * len(steps) + 30, spoken)
    name_room, words_room = (0.0, 0.0) if narrow else (168.0, 128.0)
    ends = _ends(steps)
    across = scale_over(
        [value for pair in ends for value in pair], name_room + 8, width - words_room - 10, zero=True
    )
    foot = row * len(steps) + 4
    for value in across.ticks(4 if narrow else 6):
        sheet.line(across(value), 2, across(value), foot, inks.muted if value == 0 else inks.rule, 0.8)
        sheet.text(across(value), foot + 14, tick_words(value), inks.muted, anchor="middle", size=11)
    sheet.text(width, foot + 14, "kWh", inks.muted, anchor="end", size=11)
    for place, step in enumerate(steps):
        _row(sheet, step, ends[place], across, inks, place * row, narrow, name_room, width)
    return sheet.svg()


def _row(
    sheet: Sheet, step: ChainStep, ends: tuple[float, float], across: object, inks: Inks,
    top: float, narrow: bool, name_room: float, width: float,
) -> None:  # fmt: skip
    assert callable(across)
    bar_top = top + (20 if narrow else 6)
    total = step.kind == "total"
    if narrow:
        sheet.text(0, top + 14, shortened(step.name, width * 0.6), inks.ink, bold=total)
        sheet.text(width, top + 14, step.words, inks.ink, anchor="end", bold=total)
    else:
        name = shortened(step.name, name_room - 4)
        sheet.text(name_room, bar_top + 11, name, inks.ink, anchor="end", bold=total)
        sheet.text(width, bar_top + 11, step.words, inks.ink, anchor="end", bold=total)
    if step.kwh is None:
        return
    first, last = across(ends[0]), across(ends[1])
    fill = inks.metered if total else inks.saved if step.kwh >= 0 else inks.expected
    sheet.rect(first, bar_top, last - first, 14, fill)
    if not total:
        sheet.line(last, bar_top - 3, last, bar_top + 17, inks.ink, 1.2)


def _ends(steps: Sequence[ChainStep]) -> list[tuple[float, float]]:
    """Where each bar begins and ends, kWh."""
    level, ends = 0.0, []
    for step in steps:
        amount = step.kwh or 0.0
        begin = 0.0 if step.kind == "total" else level
        level = amount if step.kind == "total" and step.kwh is not None else begin + amount
        ends.append((begin, level))
    return ends


def interval_rule(
    estimate: float, low: float | None, high: float | None, promised: float | None,
    inks: Inks, spoken: str, *, width: float, unit: str, best: str, due: str,
) -> str:  # fmt: skip
    """The interval as a thick bar on a rule from nought, the promise as a dotted post."""
    sheet = Sheet(width, 108, spoken)
    across = scale_over([estimate, low, high, promised], 10, width - 26)
    level = 46.0
    for value in across.ticks(4 if width < 500 else 6):
        sheet.line(across(value), level - 14, across(value), level + 26, inks.rule, 0.8)
        sheet.text(across(value), level + 40, tick_words(value), inks.muted, anchor="middle", size=11)
    sheet.text(width, level + 56, unit, inks.muted, anchor="end", size=11)
    sheet.rect(across(0.0), level - 4, across(estimate) - across(0.0), 8, inks.saved)
    if low is not None and high is not None:
        sheet.rect(across(low), level - 9, across(high) - across(low), 18, inks.metered)
    sheet.rect(across(estimate) - 1.2, level - 13, 2.4, 26, inks.ink)
    if promised is not None:
        sheet.line(across(promised), level - 22, across(promised), level + 26, inks.ink, 2.4, "2 3")
        _label(sheet, across(promised), 16, due, inks.ink, width)
    post = None if promised is None else across(promised)
    _label(
        sheet, across(estimate), 29 if promised is not None else 20, best, inks.metered, width, clear_of=post
    )
    return sheet.svg()


def _label(
    sheet: Sheet, place: float, baseline: float, words: str, ink: str, width: float, *,
    clear_of: float | None = None,
) -> None:  # fmt: skip
    """Words above a place, within the sheet; beside it where they would cross a post."""
    half = room(words) / 2
    anchored = "end" if place + half > width else "start" if place - half < 0 else "middle"
    at = width if anchored == "end" else 0 if anchored == "start" else place
    if clear_of is not None and abs(place - clear_of) < half + 4:
        left = place <= clear_of and min(place, clear_of) > 2 * half + 4
        anchored, at = ("end", min(place, clear_of) - 4) if left else ("start", max(place, clear_of) + 4)
    sheet.text(at, baseline, words, ink, anchor=anchored, bold=True)  # type: ignore[arg-type]

"""Charts, pages and PDFs: round scales, harmless texts, the same bytes each time."""

import io
import math
import re
import xml.etree.ElementTree as ElementTree
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from mv.base.document import (
    Block,
    Caution,
    Document,
    Drawing,
    Facts,
    Figure,
    Figures,
    Grid,
    Heading,
    Listing,
    Notice,
    Pair,
    Prose,
    Section,
    SignatureLines,
    grid,
)
from mv.documents.print_inks import print_inks
from mv.paper import (
    CalendarDay,
    ChainStep,
    Inks,
    MonthBar,
    RunningPoint,
    as_html,
    as_pdf,
    calendar_map,
    chain,
    interval_rule,
    month_bars,
    residuals_by_day,
    running_total,
)
from mv.paper.scale import round_step, scale_over, tick_words

HOSTILE = "</text><script>alert(1)</script>&\"'"
INKS: Inks = print_inks()
NAMESPACE = "{http://www.w3.org/2000/svg}"


def elements(svg: str, tag: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg).iter(f"{NAMESPACE}{tag}"))


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in elements(svg, "text")]


@given(st.floats(1e-9, 1e12))
def test_a_round_step_is_the_next_of_one_two_five(least: float) -> None:
    step = round_step(least)
    assert step >= least * (1 - 1e-6) and step <= least * 2.5 * (1 + 1e-6)
    leading = step / 10 ** math.floor(math.log10(step * (1 + 1e-9)))
    assert round(leading, 6) in (1.0, 2.0, 5.0)


@given(st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=20))
def test_a_scale_holds_every_value_and_nought_and_has_few_ticks(values: list[float]) -> None:
    scale = scale_over(values, 0.0, 100.0)
    assert all(-1e-6 <= scale(value) <= 100.0 + 1e-6 for value in [*values, 0.0])
    assert 1 <= len(scale.ticks()) <= 15


@pytest.mark.parametrize(("value", "words"), [(0, "0"), (2000, "2,000"), (-0.5, "−0.5"), (150000, "150,000")])
def test_ticks_are_written_without_needless_decimals(value: float, words: str) -> None:
    assert tick_words(value) == words


def bars() -> list[MonthBar]:
    return [MonthBar(f"2024-{n:02d}", 100.0 * n, 1500.0, 1400.0, 1600.0) for n in range(1, 13)]


def test_bars_are_as_high_as_their_energy() -> None:
    svg = month_bars(bars(), INKS, "x", width=680)
    drawn = [
        e
        for e in elements(svg, "rect")
        if e.get("fill") == INKS.metered and float(e.get("height") or 0) > 10.5
    ]
    heights = [float(element.get("height") or 0) for element in drawn]
    shares = [height / heights[-1] for height in heights]
    expected = [n / 12 for n in range(1, 13)][-len(heights) :]
    assert shares == pytest.approx(expected, abs=0.01)


def test_a_month_that_cannot_be_told_leaves_a_gap_and_its_name() -> None:
    rows = [*bars()[:2], MonthBar("2024-03", None, None, None, None)]
    svg = month_bars(rows, INKS, "x", width=340)
    assert "Mar" in texts(svg) and "nan" not in svg.lower() and "None" not in svg


def test_the_steps_of_a_chain_end_where_the_next_begins() -> None:
    steps = [
        ChainStep("promised", 100.0, "100", "total"),
        ChainStep("fewer", -30.0, "−30"),
        ChainStep("untold", None, "cannot tell"),
        ChainStep("more", 10.0, "+10"),
        ChainStep("verified", 80.0, "80", "total"),
    ]
    svg = chain(steps, INKS, "x", width=680)
    boxes = [(float(e.get("x") or 0), float(e.get("width") or 0)) for e in elements(svg, "rect")]
    (_, whole), (fewer_at, fewer), (more_at, more), (_, verified) = boxes
    assert fewer / whole == pytest.approx(0.3, abs=0.01) and more / whole == pytest.approx(0.1, abs=0.01)
    assert fewer_at + fewer == pytest.approx(boxes[0][0] + whole, abs=0.2)
    assert more_at == pytest.approx(fewer_at, abs=0.2)
    assert verified / whole == pytest.approx(0.8, abs=0.01)
    assert "cannot tell" in texts(svg)


def month_days() -> list[CalendarDay]:
    first = date(2024, 2, 1)
    hours = tuple(1.0 if 7 <= hour < 18 else 0.1 for hour in range(24))
    days = [CalendarDay(first + timedelta(n), 200.0 + n, hours, False) for n in range(29)]
    days[9] = CalendarDay(date(2024, 2, 10), None, (None,) * 24, True)
    return days


@pytest.mark.parametrize("width", [340.0, 680.0])
def test_a_calendar_shows_every_day_in_its_weekdays_column(width: float) -> None:
    svg = calendar_map(month_days(), INKS, "x", width=width)
    numbers = {
        e.text: float(e.get("x") or 0)
        for e in elements(svg, "text")
        if re.fullmatch(r"\d{1,2}", e.text or "")
    }
    assert set(numbers) == {str(day) for day in range(1, 30)}
    column = width / 7
    for day in range(1, 30):
        weekday = date(2024, 2, day).weekday()
        assert weekday * column - 3 <= numbers[str(day)] <= (weekday + 1) * column
    assert "228" in texts(svg) and ("not read" in texts(svg) or "–" in texts(svg))


def every_chart(words: str) -> list[str]:
    points = [RunningPoint("2024-01", 10.0, 12.0), RunningPoint("2024-02", 25.0, 24.0)]
    return [
        month_bars(bars(), INKS, words, width=680),
        running_total(points, INKS, words, width=340, last_low=20.0, last_high=30.0),
        chain([ChainStep(words, 1.0, words)], INKS, words, width=340),
        interval_rule(5.0, 4.0, 6.0, 7.0, INKS, words, width=340, unit=words, best=words, due=words),
        residuals_by_day(["2024-01-01"], [1.0], [False], INKS, words, width=680, title=words),
        calendar_map([CalendarDay(date(2024, 1, 1), 1.0, (1.0,) * 24, False, words)], INKS, words, width=680),
    ]


def test_hostile_words_stay_words_in_every_chart() -> None:
    for svg in every_chart(HOSTILE):
        root = ElementTree.fromstring(svg)  # well-formed
        assert not [e for e in root.iter() if e.tag.endswith("script")]
        assert root.get("aria-label") == HOSTILE
        assert "http" not in svg.replace("http://www.w3.org/2000/svg", "")


def test_charts_of_nothing_are_drawn_empty_and_not_broken() -> None:
    for svg in (
        month_bars([], INKS, "x", width=340),
        running_total([], INKS, "x", width=340),
        chain([], INKS, "x", width=340),
        calendar_map([], INKS, "x", width=340),
        residuals_by_day([], [], [], INKS, "x", width=340, title=""),
    ):
        assert ElementTree.fromstring(svg).tag == f"{NAMESPACE}svg"


def document() -> Document:
    table = grid(
        f"Long {HOSTILE}",
        [("name", "left", 1), ("kWh", "right", 1)],
        [(f"row {n} {HOSTILE}", f"{n:,}") for n in range(90)] + [("all", "4,005")],
        total_rows=1,
    )
    drawing = Drawing("Chart", month_bars(bars(), INKS, "spoken", width=680), "caption", "spoken")
    blocks = (Prose('#import "x" *bold* $x$ \\ @ref <label>'), Facts((("hash", "f" * 64),)), table, drawing)
    lines = SignatureLines(("Owner",))
    return Document(HOSTILE, "sub", (Section("One", blocks, "A"), Section("Two", (lines,))), foot="foot")


def test_texts_that_look_like_typst_are_printed_as_they_are() -> None:
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(as_pdf(document()))).pages]
    assert '#import "x" *bold* $x$ \\ @ref <label>' in " ".join(" ".join(pages).split())
    assert sum("kWh" in page and "row" in page for page in pages) >= 2  # the head is repeated
    assert all("foot" in page for page in pages)


def test_the_same_document_gives_the_same_bytes() -> None:
    assert as_pdf(document()) == as_pdf(document())
    assert as_html(document()) == as_html(document())


def test_html_escapes_every_text_and_keeps_the_charts() -> None:
    text = as_html(document())
    assert "<script" not in text and "http://" not in text
    assert text.count("<svg") == 1 and 'aria-label="spoken"' in text
    assert '<tr class="total">' in text


def every_block(words: str) -> tuple[Block, ...]:
    drawing = Drawing(words, month_bars(bars(), INKS, words, width=340), words, words, "")
    return (
        Prose(words, "lead"),
        Heading(words),
        Listing((words,), numbered=True),
        Facts(((words, words),)),
        grid(words, [(words, "left", 1)], [(words,)], note=words),
        drawing,
        Pair(drawing, drawing),
        Caution(words, (words,)),
        Figures((Figure(words, words, words),)),
        Notice(words, words, (words,), (words,), words),
        SignatureLines((words,)),
    )


def test_every_kind_of_block_escapes_all_of_its_texts() -> None:
    text = as_html(
        Document(HOSTILE, HOSTILE, (Section(HOSTILE, every_block(HOSTILE), HOSTILE),), foot=HOSTILE)
    )
    assert "<script" not in text and "alert(1)</" not in text
    assert text.count("alert(1)") >= 30


def test_every_kind_of_block_is_printed_in_the_pdf() -> None:
    document = Document("Title", "sub", (Section("Section", every_block("wordy"), "Z"),), foot="foot")
    printed = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(as_pdf(document))).pages)
    assert printed.count("wordy") >= 20


def test_a_row_that_does_not_fit_its_columns_is_a_defect() -> None:
    with pytest.raises(ValueError, match="a row of 1 in 2 columns"):
        Grid("x", grid("y", [("a", "left", 1), ("b", "left", 1)], []).columns, (("only",),))

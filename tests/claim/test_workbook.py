"""The workbook's totals are alive and are the result's numbers; stated texts stay texts."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from mv.claim import harmless

Recalculate = Callable[[Path], Any]


def summary_rows(book: Any) -> dict[str, tuple[Any, ...]]:
    return {row[0]: row for row in book["Summary"].iter_rows(min_row=5, values_only=True) if row[0]}


def without_cached_values(path: Path, target: Path, **changes: float) -> None:
    """A copy that holds formulas alone, with some cells of the sheet Daily changed."""
    book = openpyxl.load_workbook(path)
    for cell, value in changes.items():
        book["Daily"][cell] = value
    book.save(target)


@pytest.fixture(scope="module")
def book(made: Any, recalculated: Recalculate, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The workbook as made, without its stored values, recalculated."""
    bare = tmp_path_factory.mktemp("book") / "bare.xlsx"
    without_cached_values(made.folder / "workbook.xlsx", bare)
    return recalculated(bare)


def test_libreoffice_recalculates_every_total_to_the_results_number(made: Any, book: Any) -> None:
    rows, savings = summary_rows(book), made.result["savings"]
    assert rows["avoided in the reporting period, by meter"][2] == pytest.approx(
        savings["avoided_kwh"]["estimate"], abs=1e-6
    )
    assert rows["avoided in the reporting period, by month"][2] == pytest.approx(
        savings["avoided_kwh"]["estimate"], abs=1e-6
    )
    assert rows["saving in a typical year"][2] == pytest.approx(savings["normalised_annual_kwh"]["estimate"])
    assert rows["realisation rate"][2] == pytest.approx(made.result["realisation_rate"]["estimate"])
    assert rows["incentive"][2] == pytest.approx(made.result["money"]["incentive"]["estimate"])
    for month in savings["monthly"]:
        stated = month["avoided_kwh"]["estimate"]
        assert rows[f"avoided in {month['month']}"][2] == pytest.approx(stated, abs=1e-6)
    assert rows["All recomputed totals agree"][5] == "yes"


def test_every_meters_sums_recalculate_to_its_own_number(made: Any, book: Any) -> None:
    found = {row[0]: row for row in book["By meter"].iter_rows(min_row=5, values_only=True) if row[0]}
    for meter, entry in made.result["savings"]["by_meter"].items():
        _, days, metered, stand_in, adjusted, expected, avoided, low, high = found[harmless(meter)]
        assert (days, avoided) == (entry["days"], pytest.approx(entry["avoided_kwh"]["estimate"], abs=1e-6))
        assert metered + stand_in + adjusted == pytest.approx(entry["actual_kwh"])
        assert expected == pytest.approx(entry["expected_kwh"])
        assert (low, high) == pytest.approx((entry["avoided_kwh"]["low"], entry["avoided_kwh"]["high"]))


def test_a_changed_day_changes_the_totals_and_the_check_says_no(
    made: Any, recalculated: Recalculate, tmp_path: Path
) -> None:
    path = made.folder / "workbook.xlsx"
    before = openpyxl.load_workbook(path)["Daily"]["F5"].value
    without_cached_values(path, tmp_path / "changed.xlsx", F5=before + 10.0)
    rows = summary_rows(recalculated(tmp_path / "changed.xlsx"))
    stated = made.result["savings"]["avoided_kwh"]["estimate"]
    assert rows["avoided in the reporting period, by meter"][2] == pytest.approx(stated - 10.0, abs=1e-6)
    assert rows["avoided in the reporting period, by month"][2] == pytest.approx(stated - 10.0, abs=1e-6)
    assert rows["All recomputed totals agree"][5] == "NO"


def test_no_cell_is_an_error_after_recalculation(book: Any) -> None:
    for sheet in book:
        for row in sheet.iter_rows(values_only=True):
            assert not [cell for cell in row if isinstance(cell, str) and cell.startswith("#")], sheet.title


def test_stated_texts_are_never_formulas_nor_begin_like_one(made: Any) -> None:
    book = openpyxl.load_workbook(made.folder / "workbook.xlsx")
    texts = []
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "s" and isinstance(cell.value, str):
                    texts.append(cell.value)
                    assert not cell.value.startswith(("=", "+", "-", "@", "\t", "\r"))
                assert cell.hyperlink is None
    assert "'@LP" in texts and "'@lp" in texts


def test_measured_modelled_and_adjusted_energy_have_columns_of_their_own(made: Any) -> None:
    book = openpyxl.load_workbook(made.folder / "workbook.xlsx")
    heads = [cell.value for cell in book["By meter"][4]]
    kinds = [head for head in heads if "(" in str(head)]
    assert [kind.split("(")[1] for kind in kinds] == ["measured)", "modelled)", "adjusted)", "modelled)"]
    daily = [cell.value for cell in book["Daily"][4]]
    for row in book["Daily"].iter_rows(min_row=5, values_only=True):
        values = dict(zip(daily, row, strict=True))
        assert values["metered, kWh (measured)"] is None or values["stand-in, kWh (modelled)"] is None

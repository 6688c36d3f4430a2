"""A quantity is rounded by one rule wherever it is shown, and the arithmetic's rounding is nought."""

import io

import pytest

from mv.base import wording
from mv.claim.cells import kwh
from mv.claim.sheet_writer import Looks, Sheet


@pytest.mark.parametrize(
    ("low", "best", "high", "told"),
    [
        (24_790.9, 24_793.4, 24_795.9, ("24,793", "24,791", "24,796")),  # no tenth beside five digits
        (24_544.8, 24_793.4, 25_042.0, ("24,790", "24,540", "25,040")),
        (3.21, 4.14, 5.25, ("4.1", "3.2", "5.2")),  # a small energy keeps what its interval supports
        (97.92, 99.98, 102.04, ("100.0", "97.9", "102.0")),
    ],
)
def test_screen_and_report_show_an_energy_alike(
    low: float, best: float, high: float, told: tuple[str, str, str]
) -> None:
    found = {"estimate": best, "low": low, "high": high, "confidence": 0.9}
    assert kwh(found) == told
    assert wording.amount(found, "") == told[0]
    assert wording.between(found, "") == f"{told[1]} to {told[2]}"


def test_the_workbook_writes_a_true_nought_for_the_rounding_of_the_arithmetic() -> None:
    import openpyxl
    import xlsxwriter

    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    sheet = Sheet(book, Looks.of(book), "x", heading="x")
    sheet.number(3, 0, -1.8e-12)
    sheet.number(3, 1, -1.8e-6)
    sheet.formula(3, 2, "=A4+0", -1.8e-12)
    book.close()
    page = openpyxl.load_workbook(stream, data_only=True)["x"]
    assert [page.cell(4, column).value for column in (1, 2, 3)] == [0, -1.8e-6, 0]


def test_a_least_step_is_kept_by_the_estimate_and_by_its_ends() -> None:
    found = {"estimate": -0.01075, "low": -0.01086, "high": -0.01064, "confidence": 0.9}
    told = wording.with_interval(found, "kW", confidence=False, least=0.01).replace(wording.NO_BREAK, " ")
    assert told == "−0.01 kW (−0.01 to −0.01)"

"""Every constructed file of the corpus reads as its table says, or is refused with the words it names."""

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Site, Study
from mv.cleaning import clean_meter
from mv.readers import read_meter

CORPUS = Path(__file__).parent / "corpus"
CASES: list[dict[str, Any]] = tomllib.loads((CORPUS / "cases.toml").read_text("utf-8"))["case"]


def cleaned(case: dict[str, Any]) -> MeterSeries:
    meter = Meter.model_validate({"id": "m", "files": [case["file"]], **case.get("meter", {})})
    site = Site(latitude=0.0, longitude=0.0, timezone=case["zone"])
    study = Study(format=1, site=site, meter=(meter,))
    return clean_meter(read_meter(meter, CORPUS, case["zone"]), meter, study)


def names(cases: list[dict[str, Any]]) -> list[str]:
    return [case["file"] for case in cases]


READ = [case for case in CASES if "refuses" not in case]
REFUSED = [case for case in CASES if "refuses" in case]


@pytest.mark.parametrize("case", READ, ids=names(READ))
def test_a_file_reads_as_its_table_says(case: dict[str, Any]) -> None:
    series = cleaned(case)
    assert series.energy_kwh.index[0] == pd.Timestamp(case["first"])
    assert series.interval_minutes == case["minutes"]
    if "kwh" in case:
        np.testing.assert_allclose(series.energy_kwh.to_numpy(), case["kwh"], rtol=1e-9, atol=1e-12)
    if "count" in case:
        assert len(series.energy_kwh) == case["count"]
    if "clock_why" in case:
        assert series.ledger.inferred["clock"] == case["clock_why"]
    if "total" in case:
        assert math.isclose(series.energy_kwh.sum(), case["total"], rel_tol=1e-9)


@pytest.mark.parametrize("case", READ, ids=names(READ))
def test_the_ledger_accounts_for_every_row_of_a_file(case: dict[str, Any]) -> None:
    series = cleaned(case)
    ledger = series.ledger
    assert ledger.rows_read == ledger.rows_used + sum(ledger.set_aside.values())
    assert dict(ledger.set_aside) == case.get("set_aside", {})
    if "estimated" in case:
        assert ledger.estimated_rows == case["estimated"]
    seen = {remark.code for remark in ledger.remarks}
    assert set(case.get("remarks", [])) <= seen
    for reason in ledger.set_aside:
        assert ledger.set_aside_lines[reason]
    assert "quantity" in ledger.inferred
    assert "clock" in ledger.inferred


@pytest.mark.parametrize("case", REFUSED, ids=names(REFUSED))
def test_a_file_that_cannot_be_told_is_refused_with_its_remedy(case: dict[str, Any]) -> None:
    with pytest.raises(ReadingError) as caught:
        cleaned(case)
    message = str(caught.value)
    for words in case["refuses"]:
        assert words in message
    assert case["file"] in message
    assert caught.value.remedy


def test_the_corpus_holds_every_file_it_lists_and_no_other() -> None:
    listed = {case["file"] for case in CASES}
    assert len(listed) >= 60
    assert listed | {"cases.toml"} == {path.name for path in CORPUS.iterdir()}

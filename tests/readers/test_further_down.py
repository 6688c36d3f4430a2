"""Thousands first met far below the beginning of a file, quoted (RFC 4180, section 2.6) and not."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.readers import read_meter

ROWS = 9000  # hours; the sample that tells the layout ends far above the first thousand
KWH = np.where(np.arange(ROWS) % 24 == 13, np.where(np.arange(ROWS) > 8000, 1210.5, 950.0), 50.25)


def written(folder: Path, style: str) -> None:
    first = dt.datetime(2024, 1, 1)
    cells = {
        "thousands alone quoted": [f'"{v:,.2f}"' if v >= 1000 else f"{v:.2f}" for v in KWH],
        "all quoted": [f'"{v:,.2f}"' for v in KWH],
        "not quoted": [f"{v:,.2f}" for v in KWH],
    }[style]
    rows = [f"{first + dt.timedelta(hours=n):%Y-%m-%d %H:%M},{cell}" for n, cell in enumerate(cells)]
    (folder / "a.csv").write_text("\n".join(["interval start,kWh", *rows]) + "\n")


METER = Meter.model_validate({"id": "m", "files": ["a.csv"]})


@pytest.mark.parametrize("style", ["thousands alone quoted", "all quoted"])
def test_a_quoted_thousand_far_below_is_a_thousand(tmp_path, style):
    written(tmp_path, style)
    (raw,) = read_meter(METER, tmp_path, "UTC").files
    assert np.nansum(raw.value) == pytest.approx(KWH.sum(), rel=1e-12)


def test_a_thousand_whose_comma_parts_cells_is_refused_with_its_line(tmp_path):
    written(tmp_path, "not quoted")
    with pytest.raises(ReadingError, match=r"line 8007.*1,210\.50"):
        read_meter(METER, tmp_path, "UTC")


def test_a_mark_of_inches_and_a_remark_beside_a_reading_stop_nothing(tmp_path):
    written(tmp_path, "thousands alone quoted")
    lines = (tmp_path / "a.csv").read_text().replace('"', "").replace("1,210.50", "1210.50").splitlines()
    lines[7000] += ',lamp 12" replaced'
    (tmp_path / "a.csv").write_text("\n".join(lines) + "\n")
    (raw,) = read_meter(METER, tmp_path, "UTC").files
    assert np.nansum(raw.value) == pytest.approx(KWH.sum(), rel=1e-12)

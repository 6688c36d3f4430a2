"""What can be taken away is what is shown, and harmless in a spreadsheet."""

import csv
import io
import json
from typing import Any

import pandas as pd
import pytest

from dashboards.downloads import as_csv, neutral


def rows_of(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def test_the_result_comes_as_it_is_stored(client: Any, verification: Any) -> None:
    answer = client.get("/download/result.json")
    assert answer.status_code == 200
    assert json.loads(answer.data) == json.loads(json.dumps(verification.result))
    assert answer.headers["Content-Disposition"] == 'attachment; filename="result.json"'


def test_the_readings_carry_both_clocks(client: Any) -> None:
    lines = rows_of(client.get("/download/readings.csv?meter=LP-1").data.decode())
    assert lines[0] == ["start_utc", "clock_at_site", "energy_kwh", "estimated"]
    assert lines[1][:2] == ["2023-01-01T06:00Z", "Sun 01 Jan 2023 00:00"]
    assert len(lines) == 1 + 75_840


@pytest.mark.parametrize("name", ["daily.csv", "settings.csv"])
def test_the_long_tables_can_be_taken_away(client: Any, name: str) -> None:
    assert len(rows_of(client.get(f"/download/{name}").data.decode())) > 30


@pytest.mark.parametrize(
    "address",
    [
        "/download/passwd",
        "/download/readings.csv?meter=nobody",
        "/numbers/nothing.csv",
        "/numbers/hours.csv?meter=nobody",
        "/numbers/bridge.csv?bridge=nowhere",
    ],
)
def test_what_is_not_there_is_not_found(client: Any, address: str) -> None:
    assert client.get(address).status_code == 404


def test_a_path_out_of_the_folder_gives_the_page_and_no_file(client: Any) -> None:
    answer = client.get("/download/..%2f..%2fetc%2fpasswd")
    assert b"root:" not in answer.data
    assert b"_dash-config" in answer.data


def test_without_a_verification_a_download_is_not_found(tmp_path: Any) -> None:
    from dashboards import create_app

    client = create_app(tmp_path).server.test_client()
    assert client.get("/download/result.json").status_code == 404


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@now", "\t=1", "\r=1"])
def test_a_text_that_looks_like_a_formula_is_made_harmless(text: str) -> None:
    assert neutral(text) == f"'{text}"


def test_numbers_stay_numbers() -> None:
    frame = pd.DataFrame({"=head": [-1.5, 2.0], "name": ["-x", None]})
    assert as_csv(frame) == "'=head,name\n-1.5,'-x\n2.0,\n"

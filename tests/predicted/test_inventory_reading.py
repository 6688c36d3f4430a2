"""Reading inventory.csv."""

from pathlib import Path

import pytest

from mv.base.errors import InputError
from mv.predicted import read_inventory

HEAD = "space,zone,quantity,watts_before,watts_after,hours_per_year,control_saving_fraction"
ROW = "Hall north,hall,64,175,72,3100,0.30"


def _file(tmp_path: Path, text: str, *, encoding: str = "utf-8") -> Path:
    path = tmp_path / "inventory.csv"
    path.write_bytes(text.encode(encoding))
    return path


def _message(path: Path, **options: object) -> str:
    with pytest.raises(InputError) as caught:
        read_inventory(path, **options)  # type: ignore[arg-type]
    return str(caught.value)


def test_a_plain_row_is_read_with_its_line_and_defaults(tmp_path: Path) -> None:
    row = read_inventory(_file(tmp_path, f"{HEAD}\n{ROW}\n")).rows[0]
    assert (row.line, row.space, row.zone, row.quantity) == (2, "Hall north", "hall", 64)
    assert (row.standby_watts, row.coincidence_factor, row.hvac_energy_factor) == (0.0, None, 1.0)
    assert row.connected_kw_before == pytest.approx(11.2)


def test_optional_columns_are_read_and_may_be_empty(tmp_path: Path) -> None:
    head = f"{HEAD},standby_watts,coincidence_factor,hvac_energy_factor,hvac_demand_factor"
    text = f"{head}\n{ROW},0.4,0.8,1.1,1.2\nStore,hall,1,2,1,10,0,,,,\n"
    full, bare = read_inventory(_file(tmp_path, text)).rows
    assert (full.standby_watts, full.coincidence_factor) == (0.4, 0.8)
    assert (full.hvac_energy_factor, full.hvac_demand_factor) == (1.1, 1.2)
    assert (bare.standby_watts, bare.coincidence_factor, bare.hvac_demand_factor) == (0, None, 1)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_common_encodings_are_told_apart(tmp_path: Path, encoding: str) -> None:
    text = f"{HEAD}\nGroßraum Süd,hall,64,175,72,3100,0.30\n"
    inventory = read_inventory(_file(tmp_path, text, encoding=encoding))
    assert inventory.rows[0].space == "Großraum Süd"


@pytest.mark.parametrize("separator", [";", "\t"])
def test_semicolons_and_tabs_separate_too(tmp_path: Path, separator: str) -> None:
    text = f"{HEAD}\n{ROW}\n".replace(",", separator)
    assert read_inventory(_file(tmp_path, text)).rows[0].watts_before == 175


def test_a_proven_decimal_comma_is_read_and_remarked(tmp_path: Path) -> None:
    text = f"{HEAD}\n{ROW}\n".replace(",", ";").replace("0.30", "0,30").replace("72;", "72,5;")
    inventory = read_inventory(_file(tmp_path, text))
    assert inventory.rows[0].control_saving_fraction == 0.30
    assert inventory.rows[0].watts_after == 72.5
    assert [remark.code for remark in inventory.remarks] == ["decimal-comma"]


def test_a_comma_that_may_mark_thousands_is_refused(tmp_path: Path) -> None:
    text = f"{HEAD}\n{ROW}\n".replace(",", ";").replace("3100", "3,100")
    message = _message(_file(tmp_path, text))
    assert "line 2, column hours_per_year" in message and "decimal point" in message


def test_even_beside_proven_decimal_commas_a_doubtful_one_is_refused(tmp_path: Path) -> None:
    text = f"{HEAD}\n{ROW}\n".replace(",", ";").replace("0.30", "0,30").replace("3100", "3,100")
    message = _message(_file(tmp_path, text))
    assert "column hours_per_year: may mean thousands or decimals" in message


def test_a_decimal_comma_in_a_comma_file_is_refused_with_row_and_column(tmp_path: Path) -> None:
    message = _message(_file(tmp_path, f'{HEAD}\nHall,hall,64,175,72,3100,"0,30"\n'))
    assert "line 2, column control_saving_fraction" in message
    unquoted = _message(_file(tmp_path, f"{HEAD}\nHall,hall,64,175,72,3100,0,30\n"))
    assert "line 2" in unquoted and "more cells than the header" in unquoted


@pytest.mark.parametrize(
    ("cell", "column", "says"),
    [
        ("-64", "quantity", "is negative"),
        ("72 W", "watts_after", "is not a number"),
        ("nan", "hours_per_year", "is not a number"),
        ("1e999", "hours_per_year", "is not a number"),
        ("", "watts_before", "is empty"),
        ("30", "control_saving_fraction", "0.30 for 30 %"),
        ("30%", "control_saving_fraction", "without the sign"),
    ],
)
def test_a_wrong_cell_is_named_by_row_and_column(tmp_path: Path, cell: str, column: str, says: str) -> None:
    cells = dict(zip(HEAD.split(","), ROW.split(","), strict=True)) | {column: cell}
    second = ",".join((cells | {"space": "Hall south"}).values())
    message = _message(_file(tmp_path, f"{HEAD}\n{ROW}\n{second}\n"))
    assert f"line 3, column {column}" in message and says in message


def test_every_problem_is_named_in_one_message(tmp_path: Path) -> None:
    text = f"{HEAD}\nA,hall,-1,175,72,3100,0.3\nA,cellar,1,x,72,3100,0.3\na,hall,1,1,1,1,0\n"
    message = _message(_file(tmp_path, text), known_zones=("hall", "office"))
    for part in (
        "line 2, column quantity: is negative",
        "line 3, column watts_before: is not a number",
        "line 3, column zone: the study has no such zone",
        "line 4, column space: the space is already in line 2",
    ):
        assert part in message


def test_an_unknown_zone_is_met_with_the_nearest_one(tmp_path: Path) -> None:
    message = _message(_file(tmp_path, f"{HEAD}\nA,hal,1,2,1,10,0\n"), known_zones=("hall",))
    assert "Did you mean 'hall'?" in message


def test_zones_are_not_checked_where_the_study_has_none(tmp_path: Path) -> None:
    assert read_inventory(_file(tmp_path, f"{HEAD}\n{ROW}\n"), known_zones=()).zones == ("hall",)


def test_missing_and_misspelt_columns_are_named(tmp_path: Path) -> None:
    text = f"{HEAD.replace('watts_before', 'watt_before')},standby_watt\n{ROW},0.3\n"
    message = _message(_file(tmp_path, text))
    assert "column 'watts_before' is missing; is it 'watt_before'?" in message
    assert "column 'standby_watt' is not known; is it 'standby_watts'?" in message


def test_columns_of_ones_own_are_left_alone_and_said_so(tmp_path: Path) -> None:
    inventory = read_inventory(_file(tmp_path, f"{HEAD},remarks\n{ROW},ceiling damaged\n"))
    assert "remarks" in inventory.remarks[0].what


def test_empty_missing_and_binary_files_are_refused(tmp_path: Path) -> None:
    assert "is empty" in _message(_file(tmp_path, ""))
    assert "has no rows" in _message(_file(tmp_path, HEAD + "\n"))
    assert "cannot be read" in _message(tmp_path / "none.csv")
    binary = tmp_path / "sheet.csv"
    binary.write_bytes(b"PK\x03\x04\0\0\0")
    assert "is not a text table" in _message(binary)


def test_blank_lines_do_not_shift_line_numbers(tmp_path: Path) -> None:
    message = _message(_file(tmp_path, f"{HEAD}\n\n{ROW}\n,,,,,,\nB,hall,-1,2,1,10,0\n"))
    assert "line 5, column quantity" in message

"""The reference of study.toml names every key, with examples that the records take."""

import tomllib
from pathlib import Path
from typing import Annotated

import pytest
from pydantic import TypeAdapter

from mv.base.study_records import Study
from mv.study_file.keys import ABOUT, KEYS
from mv.study_file.reference import keys_of, study_reference, tables_of_study

TABLES = dict(tables_of_study())
HERE = Path(__file__).parents[2]


@pytest.mark.parametrize("path", TABLES)
def test_every_key_of_a_table_is_explained_and_no_other(path: str) -> None:
    known = set(keys_of(path, TABLES[path]))
    assert known == set(KEYS[path]), "add the key to mv/study_file/keys.py, or take it out there"
    assert ABOUT[path]


def test_no_table_is_explained_that_is_not_there() -> None:
    assert set(KEYS) == set(TABLES) == set(ABOUT)


@pytest.mark.parametrize(
    ("path", "key"),
    [(path, key) for path, record in TABLES.items() if path != "periods" for key in keys_of(path, record)],
)
def test_the_example_of_a_key_is_one_that_the_records_take(path: str, key: str) -> None:
    field = keys_of(path, TABLES[path])[key]
    value = tomllib.loads(f"value = {KEYS[path][key][0]}")["value"]
    TypeAdapter(Annotated[field.annotation, field]).validate_python(value)


def test_a_study_of_the_examples_alone_is_valid() -> None:
    study = {}
    for path, keys in KEYS.items():
        if "." in path or path in ("population",):
            continue
        values = {key: tomllib.loads(f"value = {example}")["value"] for key, (example, _) in keys.items()}
        if not path:
            study |= values
            continue
        listed = "tuple[" in str(Study.model_fields[path].annotation)
        study[path] = [values] if listed else values
    found = Study.model_validate(study)
    assert found.incentive.tier == "networked"
    assert found.peak is not None and found.peak.windows == ((14.0, 18.0), (7.0, 9.0))


def test_the_page_beside_the_readme_is_the_present_reference() -> None:
    written = (HERE / "mv" / "STUDY.md").read_text(encoding="utf-8")
    assert written == study_reference(), "write it again: python -m mv.study_file.reference > mv/STUDY.md"

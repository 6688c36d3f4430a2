"""`kill -9` at any moment leaves the last good results readable and nothing half-written."""

import hashlib
import json
import random
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mv import store
from mv.acknowledge import acknowledgements

Order = Callable[..., dict[str, Any]]
COMMANDS = ("verify", "month", "claim")
TIMES_AT_RANDOM = 14  # a command; with the orderly ones well over fifty in all
MONTH_MARK = "</html>"


@pytest.fixture(scope="module")
def site(small_site: Path, order: Order, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study with results, page and claim of a first run; each later run is to differ from it."""
    folder = tmp_path_factory.mktemp("killed") / "site"
    shutil.copytree(small_site, folder, ignore=shutil.ignore_patterns("results"))
    for command in COMMANDS:
        assert order(folder, *words(command, folder), at=0)["ended"] == "done"
    return folder


def state_another_confidence(site: Path) -> float:
    """Change the study, so that the next run's results differ from those that stand."""
    study = site / "study.toml"
    text = study.read_text(encoding="utf-8")
    old, new = ("0.9", "0.8") if "confidence = 0.9\n" in text else ("0.8", "0.9")
    study.write_text(text.replace(f"confidence = {old}\n", f"confidence = {new}\n"), encoding="utf-8")
    return float(new)


def words(command: str, folder: Path) -> list[str]:
    return [command, str(folder), *(["--out", str(folder / "claim")] if command == "claim" else [])]


def assert_all_is_whole(folder: Path) -> None:
    """Results open, the page ends, the claim's fingerprints hold, notes are readable."""
    kept = store.open_results(folder)
    assert kept.result["study"]["study"]["confidence"] in (0.8, 0.9)
    assert kept.meters
    (page,) = (folder / "results").glob("month-*.html")
    assert page.read_text(encoding="utf-8").rstrip().endswith(MONTH_MARK)
    assert_claim_is_whole(folder / "claim")
    acknowledgements(folder)
    shown = {path.name for path in folder.iterdir() if not path.name.startswith(".")}
    assert shown - {"fetched"} == {
        "claim", "inventory.csv", "meters", "motion", "occupancy.csv", "results", "study.toml", "truth.json"
    }  # fmt: skip


def assert_claim_is_whole(claim: Path) -> None:
    contents = (claim / "contents.txt").read_text(encoding="utf-8")
    listed = [line.split("  ", 1) for line in contents.split("Files (SHA-256)\n")[1].splitlines()]
    for digest, name in listed:
        assert hashlib.sha256((claim / name).read_bytes()).hexdigest() == digest
    files = {path.relative_to(claim).as_posix() for path in claim.rglob("*") if path.is_file()}
    assert files == {name for _, name in listed} | {"contents.txt"}
    json.loads((claim / "evidence" / "result.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("command", COMMANDS)
def test_killed_at_each_operation_on_a_file(order: Order, site: Path, command: str) -> None:
    state_another_confidence(site)
    operations = order(site, *words(command, site), at=0)["operations"]
    assert operations >= 2
    for number in random.Random(command).sample(range(1, operations + 1), min(operations, 8)):
        state_another_confidence(site)
        assert order(site, *words(command, site), at=number)["ended"] == "killed"
        assert_all_is_whole(site)
    assert_the_next_run_ends_well(order, site, command)


@pytest.mark.parametrize("command", COMMANDS)
def test_killed_at_random_moments(order: Order, site: Path, command: str) -> None:
    state_another_confidence(site)
    seconds = order(site, *words(command, site), at=0)["seconds"]
    moments = random.Random(f"{command} at random")
    killed = 0
    for _ in range(TIMES_AT_RANDOM):
        state_another_confidence(site)
        run = order(site, *words(command, site), after=moments.uniform(0.0, seconds))
        killed += run["ended"] == "killed"
        if run["ended"] == "done":
            seconds = min(seconds, run["seconds"])  # the first run was timed on a busier computer
        assert_all_is_whole(site)
    assert killed >= TIMES_AT_RANDOM // 3
    assert_the_next_run_ends_well(order, site, command)


def assert_the_next_run_ends_well(order: Order, site: Path, command: str) -> None:
    confidence = state_another_confidence(site)
    assert order(site, *words(command, site), at=0)["ended"] == "done"
    assert_all_is_whole(site)
    if command == "claim":
        result = json.loads((site / "claim" / "evidence" / "result.json").read_text(encoding="utf-8"))
    else:
        result = store.open_results(site).result
    assert result["study"]["study"]["confidence"] == confidence

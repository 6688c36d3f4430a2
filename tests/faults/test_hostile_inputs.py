"""Hostile inputs are refused, or read and accounted for, within bounds of time and memory.

Each runs `tallylux check` in a process of its own under a limit of memory, as a user would meet it.
"""

import gzip
import io
import json
import resource
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

MEMORY_BYTES = 3 * 1024**3
LONGEST_SECONDS = 300  # not a speed test: a hang ends here
HEAD = "time,kWh\n"
COUNT = 96 * 28
ROWS = "\n".join(
    f"2024-01-{1 + n // 96:02d} {n % 96 // 4:02d}:{n % 4 * 15:02d},{0.5 + n % 7 / 10:.1f}"
    for n in range(96 * 28)
)
GOOD = HEAD + ROWS + "\n"
GOOD_KWH = sum(0.5 + n % 7 / 10 for n in range(COUNT))
ENTITIES = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
FEED = (
    '<feed xmlns="http://www.w3.org/2005/Atom"><entry>&{};</entry>'
    '<IntervalBlock xmlns="http://naesb.org/espi"/></feed>'
)


def check(folder: Path, data: bytes, name: str = "f.csv", pattern: str | None = None) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of `tallylux check --json` on one file."""
    (folder / name).write_bytes(data)
    return check_pattern(folder, pattern or name)


def check_pattern(folder: Path, pattern: str) -> tuple[int, str, str]:
    site = '[site]\nlatitude = 44\nlongitude = -90\ntimezone = "America/Chicago"\n'
    meter = f"[[meter]]\nid = 'P'\nfiles = [{json.dumps(pattern)}]\n"
    (folder / "study.toml").write_text(f"format = 1\n{site}{meter}", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "mv", "check", "--json", str(folder)],
        capture_output=True,
        text=True,
        timeout=LONGEST_SECONDS,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES)),
    )
    assert "Traceback" not in done.stderr, done.stderr[-2000:]
    return done.returncode, done.stdout, done.stderr


def zipped(name: str, data: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    return stream.getvalue()


def many_members(count: int) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for number in range(count):
            archive.writestr(f"{number}.csv", HEAD)
    return stream.getvalue()


def entities(declared: str, used: str) -> bytes:
    return f"<!DOCTYPE d [{declared}]>{FEED.format(used)}".encode()


WIDE = "time," + ",".join(f"c{n}" for n in range(1_000_000)) + "\n2024-01-01 00:00" + ",1" * 1_000_000
SAME_ROW = b"2024-01-01 00:00,1\n"
REFUSED = {
    "xml entities that grow": ("f.xml", entities(f"<!ENTITY e0 'e'>{ENTITIES}", "e9"), "entities"),
    "xml entity that reads": (
        "f.xml",
        entities("<!ENTITY x SYSTEM 'file:///etc/hostname'>", "x"),
        "entities",
    ),
    "xml without end": ("f.xml", FEED[:41].encode() + b"<entry>" * 500_000, "XML"),
    "zip that grows": ("f.zip", zipped("a.csv", b"0" * 300_000_000), "unpacks to far more"),
    "gzip that grows": ("f.csv.gz", gzip.compress(SAME_ROW * 10_000_000, 9), "unpacks to far more"),
    "zip of very many files": ("f.zip", many_members(1001), "too many files"),
    "zip in a zip": ("f.zip", zipped("inner.zip", zipped("a.csv", GOOD.encode())), "not a text table"),
    "name that climbs out": ("f.zip", zipped("../../../escaped.csv", GOOD.encode()), ""),
    "workbook that grows": ("f.xlsx", zipped("xl/workbook.xml", b"<c/>" * 75_000_000), "unpacks to far more"),
    "a million columns": ("f.csv", WIDE.encode(), "no line with a date or time"),
    "one line of 30 MB": ("f.csv", b"1" * 30_000_000, "no line with a date or time"),
    "a file of zero bytes": ("f.csv", b"\0" * 3_000_000, "empty"),
    "a first cell of 10 MB": (
        "f.csv",
        HEAD.encode() + b'"' + b"x" * 10_000_000 + b'",1\n' + ROWS.encode(),
        "",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_a_message(tmp_path: Path, name: str) -> None:
    file, data, says = REFUSED[name]
    code, out, err = check(tmp_path, data, file)
    assert code == 2
    assert out == ""
    assert says in err
    assert "root:" not in err
    assert not list(tmp_path.parent.rglob("escaped.csv"))


STRAY = {
    "a cell of 10 MB of figures": "2024-02-01 00:00," + "9" * 10_000_000,
    "a number of 400 figures": "2024-02-01 00:00,1" + "0" * 400,
    "infinity": "2024-02-01 00:00,inf",
    "not a number": "2024-02-01 00:00,NaN",
    "the year 9999": "9999-12-31 23:45,1",
    "the year 1": "0001-01-01 00:00,1",
}


@pytest.mark.parametrize("name", STRAY)
def test_a_stray_row_is_set_aside_and_the_rest_is_read(tmp_path: Path, name: str) -> None:
    code, out, _ = check(tmp_path, (GOOD + STRAY[name] + "\n").encode())
    assert code == 0
    (ledger,) = json.loads(out)
    assert ledger["rows_read"] == COUNT + 1
    assert sum(ledger["set_aside"].values()) == 1
    assert ledger["energy_used_kwh"] == pytest.approx(GOOD_KWH)


def test_a_row_of_a_million_more_columns_does_not_lose_the_others(tmp_path: Path) -> None:
    code, out, _ = check(tmp_path, (GOOD + "2024-01-29 00:00,0.5" + ",1" * 1_000_000 + "\n").encode())
    assert code == 0
    (ledger,) = json.loads(out)
    assert ledger["rows_read"] == COUNT + 1
    assert ledger["energy_used_kwh"] == pytest.approx(GOOD_KWH, abs=0.51)


@pytest.mark.parametrize(
    "pattern", ["/etc/hostname", "../../../../../../../etc/hostnam*", "/dev/zero", "/**/*", "link.csv"]
)
def test_files_outside_the_study_are_neither_read_nor_shown(tmp_path: Path, pattern: str) -> None:
    (tmp_path / "link.csv").symlink_to("/etc/hostname")
    secret = Path("/etc/hostname").read_text(encoding="utf-8").strip()
    code, out, err = check_pattern(tmp_path, pattern)
    assert code == 2
    assert out == ""
    assert len(secret) < 4 or secret not in err


def test_folders_linked_in_a_ring_and_pipes_do_not_hang(tmp_path: Path) -> None:
    import os

    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "again").symlink_to(tmp_path, target_is_directory=True)
    os.mkfifo(tmp_path / "a" / "pipe.csv")
    code, out, _ = check(tmp_path, GOOD.encode(), pattern="**/*.csv")
    assert code == 0
    assert json.loads(out)[0]["energy_used_kwh"] == pytest.approx(GOOD_KWH)

"""Coverage-guided fuzzing of the readers, the cleaning and the study file.

    pip install atheris
    python tests/benchmarks/fuzz_inputs.py readers -max_total_time=600 -timeout=25 -rss_limit_mb=2048
    python tests/benchmarks/fuzz_inputs.py study   -max_total_time=600 -timeout=25 -rss_limit_mb=2048

The seeds are the constructed files of `tests/readers/corpus`, for the study the sample's. A finding is
anything but a result whose ledger balances or an InputError. Words after the target go to the fuzzer.
"""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["mv", "tomllib"]):
    from mv.base.errors import InputError
    from mv.base.meter_records import Meter
    from mv.base.study_records import Site, Study
    from mv.cleaning import clean_meter
    from mv.readers import read_meter
    from mv.study import study_of_text

ROOT = Path(__file__).resolve().parents[2]
SEEDS = {"readers": ROOT / "tests" / "readers" / "corpus", "study": ROOT / "sample_meter_data"}
LONGEST = {"readers": 8192, "study": 16384}
NAMES = ("f.csv", "f.csv.gz", "f.zip", "f.xlsx", "f.xml", "f.parquet")
ZONE = "America/Chicago"
FOLDER = Path(tempfile.mkdtemp(prefix="fuzz-"))


def readers(data: bytes) -> None:
    """Any bytes under any name: a series whose ledger balances, or a refusal."""
    name = NAMES[len(data) % len(NAMES)]
    (FOLDER / name).write_bytes(data)
    meter = Meter.model_validate({"id": "m", "files": [name]})
    study = Study(format=1, site=Site(latitude=44.0, longitude=-90.0, timezone=ZONE), meter=(meter,))
    try:
        series = clean_meter(read_meter(meter, FOLDER, ZONE), meter, study)
    except InputError as refusal:
        assert str(refusal)
        return
    finally:
        (FOLDER / name).unlink()
    ledger = series.ledger
    assert ledger.rows_read == ledger.rows_used + sum(ledger.set_aside.values())
    assert not series.energy_kwh.isin([float("inf"), float("-inf")]).any()


def study(data: bytes) -> None:
    """Any bytes as a study file: a study, or a refusal."""
    try:
        study_of_text(data.decode("utf-8", "replace"), FOLDER / "study.toml")
    except InputError as refusal:
        assert str(refusal)


def _seeds(target: str) -> Path:
    """A folder of the seeds short enough for the fuzzer, which adds its own finds to it."""
    place = Path(tempfile.mkdtemp(prefix=f"seeds-{target}-"))
    for number, path in enumerate(sorted(SEEDS[target].rglob("*"))):
        if path.is_file() and path.stat().st_size <= LONGEST[target] and path.name != "cases.toml":
            (place / f"{number:03d}").write_bytes(path.read_bytes())
    return place


def main() -> None:
    """Run the fuzzer on the target named first."""
    target = sys.argv[1]
    words = [sys.argv[0], f"-max_len={LONGEST[target]}", *sys.argv[2:], str(_seeds(target))]
    atheris.Setup(words, {"readers": readers, "study": study}[target])
    atheris.Fuzz()


if __name__ == "__main__":
    main()

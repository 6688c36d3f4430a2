"""The sample study of an invented site, from the source tree or the installed wheel."""

from pathlib import Path

from mv.base.errors import OutputError, StudyError
from mv.base.files import write_whole
from mv.study import STUDY_FILE

SAMPLE = "sample_meter_data"


def sample_source() -> Path:
    """Where the sample stands: beside this package, in a source tree as in an installation."""
    place = Path(__file__).resolve().parents[1] / SAMPLE
    if not (place / STUDY_FILE).exists():
        raise StudyError(
            "the sample study was not installed",
            file=place,
            remedy="Install tallylux again from its wheel.",
        )
    return place


def copy_sample(folder: Path) -> Path:
    """Copy the sample study into `folder`; files of an earlier demo are refreshed. Returns study.toml."""
    source = sample_source()
    files = _sample_files(source)
    if _holds_other_things(folder, files):
        raise OutputError(
            "is not empty and holds no study", file=folder, remedy="Choose another with --folder."
        )
    for name in files:
        write_whole(folder / name, (source / name).read_bytes())
    return folder / STUDY_FILE


def _sample_files(source: Path) -> list[Path]:
    """Relative names, the study last: where it stands, all else stands."""
    names = [path.relative_to(source) for path in source.rglob("*") if path.is_file()]
    kept = [
        name for name in names if not {"__pycache__", "results"} & set(name.parts) and name.suffix != ".py"
    ]
    return sorted(kept, key=lambda name: (name.name == STUDY_FILE, name.as_posix()))


def _holds_other_things(folder: Path, files: list[Path]) -> bool:
    if not folder.exists() or (folder / STUDY_FILE).exists():
        return False
    if not folder.is_dir():
        return True
    known = {name.parts[0] for name in files}
    return any(path.name not in known and not path.name.startswith(".") for path in folder.iterdir())

"""What people have said of findings: who has seen which one, when, and why it may stand.

Kept in `acknowledged.json` beside study.toml, as a list that only grows. Each writer locks, reads,
adds and replaces the file in one step, so that browser tabs and command lines lose nothing to each other.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

from mv.base.errors import InputError, StudyError
from mv.base.files import write_whole
from mv.base.locking import held
from mv.study import study_path

ACKNOWLEDGED_FILE = "acknowledged.json"
LOCK_FILE = ".acknowledged.lock"
LONGEST_TEXT = 2000  # characters of a note; common practice, no source
SAME_DAYS = 14  # by which a finding's date may move and a note still hold to it; common practice, no source
State = Literal["acknowledged", "reopened"]


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """One note on one finding. `finding` is its key; `where`, `what`, `since` are as it then read."""

    finding: str
    state: State
    who: str
    when: str  # UTC, ISO 8601
    why: str
    where: str
    what: str
    since: str | None


def finding_key(finding: Mapping[str, Any]) -> str:
    """A short name for a `drift` entry of the result: the one it was first told under, else made of
    place, kind, settings and date; the figures in its sentence may move with new data."""
    if finding.get("id"):
        return str(finding["id"])
    settings = sorted(str(name) for name in finding.get("settings") or [])
    undated = finding.get("since") is None and not settings
    nature = [str(finding.get("what"))] if undated else settings
    parts = [finding.get("where"), finding.get("kind"), nature, finding.get("since")]
    text = json.dumps(parts, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:8]


def acknowledgements(study_or_folder: Path | str) -> tuple[Acknowledgement, ...]:
    """Every note, oldest first. Raises StudyError when the file cannot be understood."""
    return _read(_path(study_or_folder))


def acknowledged_now(
    study_or_folder: Path | str, findings: Sequence[Mapping[str, Any]] = ()
) -> dict[str, Acknowledgement]:
    """By finding key, the last note of each finding that was not opened again since.

    A note holds to the entry of `findings` that has its key; else to one of the same place whose date
    has moved a little, which the note then follows.
    """
    last = {entry.finding: entry for entry in acknowledgements(study_or_folder)}
    standing = {key: entry for key, entry in last.items() if entry.state == "acknowledged"}
    keys = {finding_key(finding) for finding in findings}
    moved = {key: _followed(entry, findings, keys) for key, entry in standing.items() if key not in keys}
    return {key if moved.get(key) in last else moved.get(key, key): e for key, e in standing.items()}


def _followed(entry: Acknowledgement, findings: Sequence[Mapping[str, Any]], taken: set[str]) -> str:
    """Key of the one finding of the note's place that began about when the note says; else its own."""
    near = [
        finding_key(finding)
        for finding in findings
        if finding.get("where") == entry.where and _near(finding.get("since"), entry.since)
    ]
    return near[0] if len(near) == 1 and near[0] in taken else entry.finding


def _near(one: object, other: str | None) -> bool:
    if one is None or other is None:
        return False
    apart = date.fromisoformat(str(one)) - date.fromisoformat(other)
    return abs(apart) <= timedelta(days=SAME_DAYS)


def acknowledge(
    study_or_folder: Path | str,
    finding: Mapping[str, Any],
    *,
    who: str,
    why: str,
    state: State = "acknowledged",
    when: datetime | None = None,
) -> Acknowledgement:
    """Add a note on a `drift` entry of the result. Raises InputError when `who` or `why` is empty."""
    entry = Acknowledgement(
        finding=finding_key(finding),
        state=state,
        who=_said("who", who),
        when=(when or datetime.now(UTC)).astimezone(UTC).isoformat(timespec="seconds"),
        why=_said("why", why),
        where=str(finding.get("where", "")),
        what=str(finding.get("what", "")),
        since=finding.get("since"),
    )
    path = _path(study_or_folder)
    with held(path.parent / LOCK_FILE):
        entries = [*_read(path), entry]
        text = json.dumps({"format": 1, "notes": [asdict(e) for e in entries]}, indent=1, ensure_ascii=False)
        write_whole(path, text + "\n")
    return entry


def finding_named(findings: list[Mapping[str, Any]], key: str) -> Mapping[str, Any]:
    """The finding that a key names. Raises InputError, listing the known keys, when none does."""
    for finding in findings:
        if finding_key(finding) == key:
            return finding
    known = ", ".join(finding_key(finding) for finding in findings) or "none"
    raise InputError("no finding has this key", value=key, remedy=f"Known: {known}.")


def _path(study_or_folder: Path | str) -> Path:
    return study_path(study_or_folder).parent / ACKNOWLEDGED_FILE


def _said(what: str, text: str) -> str:
    text = " ".join(text.split())
    if not text or len(text) > LONGEST_TEXT:
        raise InputError(
            f"'{what}' must hold 1 to {LONGEST_TEXT} characters",
            value=f"{len(text)} characters",
            remedy="Name the person, and say why the finding may stand or what is being done.",
        )
    return text


def _read(path: Path) -> tuple[Acknowledgement, ...]:
    try:
        text = path.read_text(encoding="utf-8")
        return tuple(Acknowledgement(**entry) for entry in json.loads(text)["notes"])
    except FileNotFoundError:
        return ()
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise StudyError(
            "the notes on findings cannot be read",
            file=path,
            value=error,
            remedy="Mend the file or move it away; nothing is written over it.",
        ) from None

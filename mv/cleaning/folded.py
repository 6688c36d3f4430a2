"""Remarks that say the same of many files, or many times of one, as one remark with a count."""

from collections.abc import Sequence
from dataclasses import replace

from mv.base.ledger import Remark

MOST_NAMED = 3  # files or places named before "and n more"


def folded(remarks: Sequence[Remark]) -> tuple[Remark, ...]:
    """Each thing said once, in the order first said.

    Remarks of one code, sentence and remedy are one that names the files; remarks of one code, file
    and remedy whose sentences differ are one that keeps the first sentence and counts the rest.
    """
    by_sentence: dict[tuple[str, str, str | None], list[Remark]] = {}
    for remark in remarks:
        by_sentence.setdefault((remark.code, remark.what, remark.remedy), []).append(remark)
    said = [_of_files(group) for group in by_sentence.values()]
    by_place: dict[tuple[str, str | None, str | None], list[Remark]] = {}
    for remark in said:
        by_place.setdefault((remark.code, remark.file, remark.remedy), []).append(remark)
    return tuple(_of_times(group) for group in by_place.values())


def _of_files(group: list[Remark]) -> Remark:
    files = list(dict.fromkeys(remark.file for remark in group if remark.file))
    if len(files) < 2:
        return _of_times(group)
    more = f" and {len(files) - MOST_NAMED} more files" if len(files) > MOST_NAMED else ""
    return replace(group[0], file=", ".join(files[:MOST_NAMED]) + more, lines=None)


def _of_times(group: list[Remark]) -> Remark:
    if len(group) == 1:
        return group[0]
    lines = list(dict.fromkeys(remark.lines for remark in group if remark.lines))
    places = "; ".join(lines[:MOST_NAMED]) + (" and more" if len(lines) > MOST_NAMED else "")
    times = f" (and {len(group) - 1} more of the kind)"
    return replace(group[0], what=group[0].what + times, lines=places or None)

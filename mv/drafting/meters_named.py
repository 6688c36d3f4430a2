"""Which files are one meter: told by what their names share, beside the words of time and side."""

import re
from collections.abc import Sequence
from pathlib import Path

from mv.drafting.found import Found
from mv.drafting.text import Draft

NAMELESS = "meter"  # where the names share nothing but dates and "before" and "after"
_TIME_WORDS = re.compile(
    r"(?<![^\W_])(before|after|baseline|base|reporting|report|pre|post|old|new|retrofit|install(ed)?|"
    r"vorher|nachher|alt|neu|avant|apr[eè]s|antes|despu[eé]s|depois|prima|dopo|"
    r"[12]\d{3}([-_]?\d\d){0,2}([-_ ]?[hqw]\d{1,2})?|[hq][1-4][-_ ]?[12]\d{3}|h[12]|"
    r"jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|q[1-4]|to|part ?\d*)(?![^\W_])",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"[\s_\-.()]+")


def meters_of(found: Sequence[Found]) -> list[Draft]:
    """Files of one name (its words of time left out) are one meter; so are all files where each side
    has a single name, and those whose names say a time alone where only one other name is told."""
    names = {part.path: _own_name(part.path) for part in found}
    sides = [{names[part.path] for part in found if part.side == side} for side in ("before", "after")]
    told = {name for name in names.values() if name}
    single = len(told) <= 1 or all(len(side) <= 1 for side in sides)
    circuits_of_one = len({names[part.path] for part in found}) == 1
    drafts: dict[tuple[str, str], Draft] = {}
    for part in found:
        circuit = next((v for k, v in part.keys.items() if k in ("value_column", "channel")), "")
        name = _shared(sorted(told)) if single else names[part.path]
        plain = name or NAMELESS
        shown = circuit if circuit and (single or circuits_of_one) else f"{plain} {circuit}".strip()
        drafts.setdefault((name, circuit), Draft(shown)).parts.append(part)
    return _unique(list(drafts.values()))


def _own_name(path: str) -> str:
    """The file's name without ending and words of time; empty where it says nothing else."""
    name = _TIME_WORDS.sub("", Path(path).name.split(".")[0])
    return re.sub(r"([\s_\-.()])[\s_\-.()]+", r"\1", name).strip(" _-.()")


def _shared(names: Sequence[str]) -> str:
    """The words that all names have, as the first one writes them and as it joins them."""
    if len(names) < 2:
        return "".join(names)
    common = set.intersection(*({word.lower() for word in _BETWEEN.split(name)} for name in names))
    return " ".join(word for word in _BETWEEN.split(names[0]) if word.lower() in common)


def _unique(drafts: list[Draft]) -> list[Draft]:
    seen: dict[str, int] = {}
    for draft in drafts:
        number = seen[draft.id] = seen.get(draft.id, 0) + 1
        if number > 1:
            draft.id = f"{draft.id} {number}"
    return drafts

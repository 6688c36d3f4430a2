"""The result on one screen of a terminal, in plain words."""

import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from mv.base import wording
from mv.documents.promise_lines import promise_lines
from mv.figures import costliest_first, setting_value, setting_words
from mv.terminal import HEIGHT, WIDTH

NARROW = 70  # characters; below, names are short
LONGEST_NAME, LONGEST_NAMES, LONGEST_ENTRY = 15, 90, 150  # characters
BLANK_LINES = 4
FULLY_COVERED = 0.9995  # from here on it would be shown as 100.0 %
LEAST_CHANGED, MOST_WHYS = 4, 3  # lines kept for what changed; reasons told why a result is not accepted
Json = Mapping[str, Any]


def summary_text(result: Json, path: Path, *, width: int = WIDTH, height: int = HEIGHT) -> str:
    """The summary of a result.json that was written to `path`; what has no room is counted."""
    opening, savings, care = _headline(result, width), _savings(result, width), _care(result, width)
    closing = [*_data(result, width), *_acceptance(result, width), *care, f"Everything: {path}"]
    unsaid = _cannot_say(result, width)
    room = height - len(opening) - len(savings) - len(closing) - len(unsaid) - BLANK_LINES
    settings = _settings(result["settings"], width, most=room - LEAST_CHANGED - 3)
    changed = _changed(result, width, most=max(LEAST_CHANGED, room - len(settings)))
    parts = [opening, savings, settings, changed, [*unsaid, *closing]]
    text = "\n\n".join("\n".join(part) for part in parts if part) + "\n"
    return text.replace(wording.NO_BREAK, " ")


def _headline(result: Json, width: int) -> list[str]:
    study, periods = result["study"], result["study"]["periods"]
    spans = [f"{name} {periods[name]['first']} to {periods[name]['last']}" for name in periods]
    title = textwrap.shorten(f"{study['site']['name']}: {study['study']['title']}", width, placeholder="…")
    sure = f"In brackets: the {wording.per_cent(float(study['study']['confidence']))} interval."
    return [title, *_wrapped("", ", ".join(spans), width), sure]


def _savings(result: Json, width: int) -> list[str]:
    savings, promised = result["savings"], result["predicted"]["annual_kwh"]
    currency = result["money"].get("currency") or ""
    rate = result["realisation_rate"]
    hundredfold = rate and {**rate, **{e: 100.0 * rate[e] for e in ("estimate", "low", "high")}}
    told = "not given" if promised is None else f"{wording.number(promised)} kWh a year"
    rows = [
        ("Avoided energy, reporting period", "Avoided", _interval(savings["avoided_kwh"], "kWh")),
        ("Savings in a typical year", "Typical year", _interval(savings["normalised_annual_kwh"], "kWh")),
        ("Predicted", "Predicted", told),
        ("Realisation rate", "Realisation", _interval(hundredfold, "%")),
        ("Peak reduction", "Peak window", _interval(savings["peak_kw"], "kW")),
        ("Bill savings in a typical year", "Off the bill", _interval(_bill(result), currency)),
    ]
    samples = [
        line for row in savings.get("population") or [] for line in _wrapped("Sample: ", row["how"], width)
    ]
    samples = [*_not_told_from_none(savings, width), *samples]
    promise = [textwrap.shorten(line, width, placeholder="…") for line in promise_lines(result)]
    if width < NARROW:
        return [*(f"{short:<14}{words}" for _, short, words in rows), *samples, *promise]
    return [*(f"{name:<34}{words}" for name, _, words in rows), *samples, *promise]


def _not_told_from_none(savings: Json, width: int) -> list[str]:
    """Says of each kind of savings whose interval holds zero that it does."""
    kinds = {"avoided energy": "avoided_kwh", "savings in a typical year": "normalised_annual_kwh"}
    found = [name for name, key in kinds.items() if _holds_zero(savings[key])]
    return _wrapped("Not distinguishable from zero: ", f"{wording.listed(found)}.", width) if found else []


def _holds_zero(answer: Json | None) -> bool:
    return answer is not None and answer.get("low") is not None and answer["low"] <= 0 <= answer["high"]


def _bill(result: Json) -> Json | None:
    found: Json | None = result["money"].get("bill_savings")
    return found


def _interval(answer: Json | None, unit: str) -> str:
    """ "188,000 kWh  (181,000 to 196,000)"."""
    if answer is None:
        return "cannot say"
    if wording.half_width(answer) is None:
        return wording.amount(answer, unit)
    return f"{wording.amount(answer, unit)}  ({wording.between(answer, '')})"


COLUMNS = {  # and for a narrow screen
    "high_trim": ("full-on", "full-on"),
    "low_level": ("vacant", "vacant"),
    "hold_minutes": ("delay", "delay"),
    "daylight_dimming": ("daylight", "sun"),
    "scheduled_off": ("schedule", "closed"),
    "standby_watts": ("standby", "standby"),
}
MARKS = {"kept": "kept", "moved": "MOVED", "cannot tell": "?"}


def _settings(settings: Sequence[Json], width: int, *, most: int) -> list[str]:
    """A row a zone, a column a setting; where there is no room, zones wholly kept go first."""
    if not settings:
        return []
    marks = {(row["zone"], row["setting"]): MARKS[row["verdict"]] for row in settings}
    zones = list(dict.fromkeys(row["zone"] for row in settings))
    shown = sorted(zones, key=lambda zone: _rank(settings, zone))[: max(most, 2)]
    step = 10 if width >= NARROW else 8
    name = width - step * len(COLUMNS) + 1 if width < NARROW else LONGEST_NAME + 1
    heads = "".join(f"{names[width < NARROW]:<{step}}" for names in COLUMNS.values())
    lines = [f"{'Settings':<{name}}{heads}".rstrip()]
    for zone in (zone for zone in zones if zone in shown):
        cells = "".join(f"{marks.get((zone, key), '-'):<{step}}" for key in COLUMNS)
        lines.append(f"{textwrap.shorten(zone, name - 1, placeholder='…'):<{name}}{cells}".rstrip())
    rest = len(zones) - len(shown)
    more = f"{wording.counted(rest, 'zone')} more in result.json. " if rest else ""
    return [*lines, *_wrapped("", f"{more}MOVED: not as agreed; ?: cannot tell; -: not agreed.", width)]


def _rank(settings: Sequence[Json], zone: str) -> int:
    verdicts = {row["verdict"] for row in settings if row["zone"] == zone}
    return 0 if "moved" in verdicts else 1 if "cannot tell" in verdicts else 2


def _changed(result: Json, width: int, *, most: int) -> list[str]:
    """What changed after hand-over, the costliest first, in at most `most` lines."""
    drift = costliest_first(result["drift"])
    told = {(zone, setting) for row in drift for zone in _zones(row) for setting in row["settings"]}
    entries = [_change(row) for row in drift]
    moved = [row for row in result["settings"] if row["verdict"] == "moved"]
    entries += [_moved(row) for row in moved if (row["zone"], row["setting"]) not in told]
    if not entries:
        return ["What changed after hand-over: nothing that the data show."]
    lines = ["What changed after hand-over:"]
    for place, entry in enumerate(entries):
        wrapped = _wrapped("- ", textwrap.shorten(entry, LONGEST_ENTRY, placeholder="…"), width)
        last = place == len(entries) - 1
        if len(lines) + len(wrapped) + (0 if last else 1) > most:
            rest = len(entries) - place
            return [*lines, f"- and {rest} more: tallylux month, or result.json"]
        lines += wrapped
    return lines


def _zones(row: Json) -> list[str]:
    return [*row["zones"], row["where"]]


def _change(row: Json) -> str:
    monthly = row["kwh_per_month"]
    price = "" if monthly is None else f", {wording.amount(monthly, 'kWh')} a month"
    told = not row["since"] or row["since"] in row["what"]
    since = "" if told else f" (since {row['since']})"
    tail = f"{since}{price}"
    return (
        textwrap.shorten(f"{row['where']}: {row['what']}", LONGEST_ENTRY - len(tail), placeholder="…") + tail
    )


def _moved(row: Json) -> str:
    since = f"moved since {row['since']}" if row["since"] else "never seen as agreed"
    words = setting_words(row["setting"]).name
    agreed = setting_value(row["setting"], row["commissioned"])
    seen = setting_value(row["setting"], (row["observed"] or {}).get("estimate"))
    return f"{row['zone']}, {words[0].lower()}{words[1:]}: {agreed} agreed, {seen} seen, {since}"


def _data(result: Json, width: int) -> list[str]:
    """Rows read, used and set aside over all meters, the least covered of them, and what asks for a look."""
    cleaning = result["cleaning"]
    read, used = (sum(row[key] for row in cleaning) for key in ("rows_read", "rows_used"))
    covered = [
        (row[f"coverage_{period}"], str(row["meter"]), period)
        for row in cleaning
        for period in ("baseline", "reporting")
        if row[f"coverage_{period}"] is not None
    ]
    least, meter, period = min(covered, default=(1.0, "", ""))
    words = f"{wording.counted(len(cleaning), 'meter')}, {read:,} rows read, {used:,} used, "
    words += f"{read - used:,} set aside"
    if least < FULLY_COVERED:
        words += f"; least covered: {wording.per_cent(least, places=1)} of the {period} period ({meter})"
    asking = sum(bool(remark["remedy"]) for row in cleaning for remark in row["remarks"])
    if asking:
        words += f"; {wording.counted(asking, 'remark')} to look at: tallylux check"
    return _wrapped("Data: ", f"{words}.", width)


def _cannot_say(result: Json, width: int) -> list[str]:
    """The main answers that cannot be given with their reasons; the others by name."""
    entries, savings = result["cannot_say"], result["savings"]
    answers = [savings[key] for key in ("avoided_kwh", "normalised_annual_kwh", "peak_kw")]
    leading = entries[: [*answers, result["realisation_rate"]].count(None)]
    by_reason: dict[str, list[str]] = {}
    for entry in leading:
        by_reason.setdefault(str(entry["why"]), []).append(_name(entry))
    lines = []
    for why, names in by_reason.items():
        words = textwrap.shorten(f"{', '.join(names)}: {why}", 2 * LONGEST_ENTRY, placeholder="…")
        lines += _wrapped("Cannot say: ", words, width)
    rest = list(dict.fromkeys(_name(entry) for entry in entries[len(leading) :]))
    if rest:
        also = "also " if leading else ""
        named = textwrap.shorten("; ".join(rest), LONGEST_NAMES, placeholder="…")
        lines += _wrapped(
            "Cannot say: ",
            f"{also}{wording.counted(len(rest), 'thing')} ({named}); result.json says why.",
            width,
        )
    return lines


def _name(entry: Json) -> str:
    return str(entry["what"]).replace("_", " ")


def _acceptance(result: Json, width: int) -> list[str]:
    acceptance = result["acceptance"]
    further = [test for model in result["models"] for test in model["tests"] if test["passed"] is not None]
    failed = [test for test in further if not test["passed"]]
    names = ", ".join(sorted({str(test["name"]).split(" (")[0] for test in failed})[:3])
    verb = "is" if len(failed) == 1 else "are"
    told = f"Of {len(further)} further published limits {len(failed)} {verb} not met"
    told = told if failed else f"All {len(further)} further published limits are met"
    note = f"{told}{f' ({names})' if names else ''}." if further else ""
    if acceptance["met"]:
        return _wrapped("Accepted: ", f"the limits that decide are met. {note}", width)
    whys = [textwrap.shorten(str(why), 2 * LONGEST_ENTRY, placeholder="…") for why in acceptance["why"]]
    lines = ["Not accepted as it stands:"]
    for why in whys[:MOST_WHYS]:
        lines += _wrapped("- ", why, width)
    more = len(whys) - MOST_WHYS
    return [*lines, *([f"- and {more} more in result.json"] if more > 0 else []), *_wrapped("", note, width)]


def _care(result: Json, width: int) -> list[str]:
    return _wrapped("Take care: ", str(result["cautions"][0]), width) if result["cautions"] else []


def _wrapped(mark: str, text: str, width: int = WIDTH) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=mark, subsequent_indent=" " * min(len(mark), 2))

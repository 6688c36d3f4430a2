"""The result on one screen of a terminal, in plain words."""

import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from mv.figures import setting_value, setting_words

WIDTH = 78
MOST_REASONS, LONGEST_REASON = 6, 160  # on one screen
MOST_REASONS, LONGEST_REASON = 6, 160  # on one screen
Json = Mapping[str, Any]


def summary_text(result: Json, path: Path) -> str:
    """The one-screen summary of a result.json; `path` is where it was written."""
    parts = [
        _headline(result),
        _savings(result),
        _settings(result["settings"]),
        _drift(result["drift"]),
        _data(result["cleaning"]),
        _cannot_say(result["cannot_say"]),
        _acceptance(result),
        _wrapped("Take care: ", result["cautions"][0]) if result["cautions"] else [],
        [f"Everything: {path}"],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def number(value: float) -> str:
    """12345.6 -> "12,346"; small values keep two significant places after the point."""
    size = abs(value)
    return f"{value:,.0f}" if size >= 100 else f"{value:,.1f}" if size >= 10 else f"{value:,.2f}"


def _interval(answer: Json | None, unit: str) -> str:
    if answer is None:
        return "cannot say"
    text = f"{number(answer['estimate'])} {unit}"
    if answer["low"] is None:
        return text
    return f"{text}  ({number(answer['low'])} to {number(answer['high'])})"


def _headline(result: Json) -> list[str]:
    study, periods = result["study"], result["study"]["periods"]
    span = [f"{periods[name]['first']} to {periods[name]['last']}" for name in ("baseline", "reporting")]
    title = f"{study['study']['title']}: {study['site']['name']}"
    return [title, "=" * min(len(title), WIDTH), f"baseline {span[0]}, reporting {span[1]}"]


def _savings(result: Json) -> list[str]:
    savings, predicted = result["savings"], result["predicted"]
    confidence = f"{100 * result['study']['study']['confidence']:g} %"
    currency = result["money"].get("currency") or ""
    rows = [
        ("Avoided energy, reporting period", _interval(savings["avoided_kwh"], "kWh")),
        ("Savings in a typical year", _interval(savings["normalised_annual_kwh"], "kWh")),
        ("Peak reduction", _interval(savings["peak_kw"], "kW")),
        ("Predicted", _plain(predicted["annual_kwh"], "kWh a year")),
        ("Realisation rate", _percent(result["realisation_rate"])),
        ("Bill savings in a typical year", _interval(result["money"].get("bill_savings"), currency)),
    ]
    lines = [f"{name:<34}{text}" for name, text in rows]
    samples = [line for row in savings["population"] for line in _wrapped("Sample: ", row["how"])]
    return [*lines, f"In brackets: the {confidence} interval.", *samples]


def _plain(value: float | None, unit: str) -> str:
    return "not given" if value is None else f"{number(value)} {unit}"


def _percent(answer: Json | None) -> str:
    if answer is None:
        return "cannot say"
    low, high = (f"{100 * answer[end]:.0f}" for end in ("low", "high"))
    return f"{100 * answer['estimate']:.0f} %  ({low} to {high} %)"


COLUMNS = {
    "high_trim": "full-on",
    "low_level": "vacant",
    "hold_minutes": "delay",
    "daylight_dimming": "daylight",
    "scheduled_off": "schedule",
    "standby_watts": "standby",
}
MARKS = {"kept": "kept", "moved": "MOVED", "cannot tell": "?"}


def _settings(settings: list[Json]) -> list[str]:
    """A row a zone, a column a setting: kept, MOVED, ? for cannot tell, - for not agreed."""
    if not settings:
        return []
    marks = {(row["zone"], row["setting"]): MARKS[row["verdict"]] for row in settings}
    lines = [f"{'Settings':<16}" + "".join(f"{name:<10}" for name in COLUMNS.values()).rstrip()]
    for zone in dict.fromkeys(row["zone"] for row in settings):
        cells = "".join(f"{marks.get((zone, key), '-'):<10}" for key in COLUMNS)
        lines.append(f"{zone[:15]:<16}{cells}".rstrip())
    lines.append("MOVED: not as agreed; ?: the data cannot tell; -: nothing was agreed.")
    for row in settings:
        if row["verdict"] == "moved":
            lines += _wrapped("- ", _moved(row))
    return lines


def _moved(row: Json) -> str:
    since = f"moved since {row['since']}" if row["since"] else "never seen as agreed"
    words = setting_words(row["setting"]).name
    agreed = setting_value(row["setting"], row["commissioned"])
    seen = setting_value(row["setting"], (row["observed"] or {}).get("estimate"))
    return f"{row['zone']}, {words[0].lower()}{words[1:]}: {agreed} agreed, {seen} seen, {since}"


def _drift(drift: list[Json]) -> list[str]:
    if not drift:
        return ["What changed after hand-over: nothing that the data show."]
    lines = ["What changed after hand-over:"]
    for row in drift:
        cost = row["kwh_per_month"]
        price = "" if cost is None else f", {number(cost['estimate'])} kWh a month"
        told = not row["since"] or row["since"] in row["what"]
        since = "" if told else f" (since {row['since']})"
        lines += _wrapped("- ", f"{row['where']}: {row['what']}{since}{price}")
    return lines


def _data(cleaning: list[Json]) -> list[str]:
    lines = [f"{'Meter':<14}{'rows read':>11}{'used':>11}{'set aside':>11}{'baseline':>10}{'reporting':>11}"]
    for row in cleaning:
        aside = sum(row["set_aside"].values())
        covered = [_share(row[f"coverage_{name}"]) for name in ("baseline", "reporting")]
        lines.append(
            f"{row['meter'][:13]:<14}{row['rows_read']:>11,}{row['rows_used']:>11,}{aside:>11,}"
            f"{covered[0]:>10}{covered[1]:>11}"
        )
    return lines


def _share(value: float | None) -> str:
    return "-" if value is None else f"{100 * value:.1f} %"


def _cannot_say(entries: list[Json]) -> list[str]:
    """What cannot be said, reasons told once; the whole list stands in result.json."""
    if not entries:
        return []
    by_reason: dict[str, list[str]] = {}
    for entry in entries:
        by_reason.setdefault(_shortened(entry["why"]), []).append(str(entry["what"]).replace("_", " "))
    lines = ["Cannot say:"]
    for why, whats in list(by_reason.items())[:MOST_REASONS]:
        lines += _wrapped("- ", f"{', '.join(dict.fromkeys(whats))}: {why}")
    more = len(by_reason) - MOST_REASONS
    return [*lines, f"- and {more} more in result.json"] if more > 0 else lines


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_REASON else text[: LONGEST_REASON - 1] + "…"


def _acceptance(result: Json) -> list[str]:
    acceptance = result["acceptance"]
    further = [test for model in result["models"] for test in model["tests"] if test["passed"] is not None]
    failed = [test for test in further if not test["passed"]]
    names = ", ".join(sorted({str(test["name"]).split(" (")[0] for test in failed})[:3])
    told = f"Of {len(further)} further published limits of the models {len(failed)} are not met"
    note = _wrapped("", f"{told}{f' ({names})' if names else ''}; they are shown for the reviewer.")
    note = note if further else []
    if acceptance["met"]:
        return ["Accepted: the limits that decide on the savings are met.", *note]
    whys = (line for why in acceptance["why"] for line in _wrapped("- ", why))
    return ["Not accepted as it stands:", *whys, *note]


def _wrapped(mark: str, text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark))

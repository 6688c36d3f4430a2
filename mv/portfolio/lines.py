"""summary.json on one screen of a terminal."""

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from mv.base.wording import NO_BREAK, counted, money, number, share_with_interval, with_interval

Json = Mapping[str, Any]
WIDTH = 78
GROUPS_SHOWN, FINDINGS_SHOWN, BROKEN_SHOWN, REMARKS_SHOWN = 6, 5, 4, 4  # on one screen


def summary_lines(summary: Json) -> list[str]:
    """The lines of the screen; everything else stands in the files."""
    parts = [
        _head(summary["studies"]),
        _total(summary["total"]),
        *(_groups(name, summary[f"by_{name}"]) for name in ("programme", "contractor", "strategy")),
        _findings(summary),
        _broken(summary["broken"]),
        _cut([f"- {remark}" for remark in summary["remarks"]], REMARKS_SHOWN),
    ]
    lines = [line for part in parts if part for line in [*part, ""]]
    return [line.replace(NO_BREAK, " ") for line in lines[:-1]]


def _head(studies: Json) -> list[str]:
    head = f"{counted(studies['found'], 'study', 'studies')}, {counted(studies['meters'], 'meter')}"
    states = ", ".join(
        f"{studies[key]:,} {key.replace('_', ' ')}" for key in ("accepted", "not_accepted", "broken")
    )
    return [head, "=" * len(head), states]


def _total(total: Json) -> list[str]:
    rows = [
        ("Avoided energy, all together", with_interval(total["avoided_kwh"], "kWh", confidence=False)),
        ("Savings in a typical year", with_interval(total["normalised_annual_kwh"], "kWh", confidence=False)),
        ("Peak reduction, own windows", with_interval(total["peak_kw"], "kW", confidence=False)),
        ("Realisation rate", _rate(total)),
    ]
    lines = [f"{name:<32}{text}" for name, text in rows]
    pool = total["avoided_kwh"]
    if pool is None:
        return lines
    lines.append(f"In brackets: the {100 * pool['confidence']:g} % interval, common causes counted")
    wide, narrow = (pool["high"] - pool["low"]) / 2, pool["half_width_if_independent"]
    if pool["studies"] > 1 and narrow > 0:
        lines.append(
            f"(correlation between studies {pool['correlation_between_studies']:.2f}; "
            f"{wide / narrow:.1f} times what independent errors would give)."
        )
    return lines


def _rate(entry: Json) -> str:
    rate = entry["realisation_rate"]
    return "cannot tell" if rate is None else share_with_interval(rate)


def _groups(name: str, entries: Sequence[Json]) -> list[str]:
    if len(entries) < 2 and (not entries or entries[0]["name"] == "not stated"):
        return []
    lines = [f"{'By ' + name:<32}{'studies':>8}  {'realised':<28}avoided, kWh"]
    for entry in entries:
        avoided = entry["avoided_kwh"]
        text = "cannot tell" if avoided is None else with_interval(avoided, "", confidence=False)
        lines.append(f"{entry['name'][:30]:<32}{entry['studies']:>8,}  {_rate(entry):<28}{text}".rstrip())
    return _cut(lines, GROUPS_SHOWN + 1)


def _findings(summary: Json) -> list[str]:
    found = summary["findings"]
    if not found:
        return []
    lines = [
        f"Worst findings first ({summary['findings_in_all']:,} in all, by {summary['findings_ranked_by']}):"
    ]
    for row in found[:FINDINGS_SHOWN]:
        lines += [f"- {row['title'][:44]}: {row['where']}, {_price(row)}", _shortened(row["what"])]
    return lines


def _shortened(what: str) -> str:
    """What was found, on one line that shows where it was cut."""
    return textwrap.shorten(what, WIDTH, initial_indent="  ", placeholder="…")


def _price(row: Json) -> str:
    energy, cost = row["kwh_per_month"], row["cost_per_month"]
    texts = [] if cost is None else [f"{money(cost, row['currency'] or '')} a month"]
    texts += [] if energy is None else [f"{number(energy['estimate'])} kWh a month"]
    return ", ".join(texts) or "no number"


def _broken(broken: Sequence[Json]) -> list[str]:
    if not broken:
        return []
    lines = [f"{counted(len(broken), 'study', 'studies')} could not be verified:"]
    lines += [f"- {row['path']}: {' '.join(row['message'].split())[:200]}" for row in broken]
    return _cut(lines, BROKEN_SHOWN + 1)


def _cut(lines: list[str], most: int) -> list[str]:
    more = len(lines) - most
    return lines if more <= 0 else [*lines[:most], f"  and {more} more in summary.json"]

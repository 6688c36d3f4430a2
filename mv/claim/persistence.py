"""Part H: the agreed settings as the meters show them, and what changed after hand-over."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording
from mv.base.document import Block, Heading, Pair, Prose, grid
from mv.base.result_parts import estimate, rows
from mv.claim.cells import NONE, day, share
from mv.claim.identity import SETTING_NAMES
from mv.claim.material import Material

FINEST = {"hold_minutes": 0.1, "standby_watts": 0.01}  # finer is noise on paper; common practice, no source


def persistence(material: Material) -> list[Block]:
    """Settings, then drift."""
    return [Heading("Drift and persistence"), _settings(material), _drift(material), *_shown(material)]


def _shown(material: Material) -> list[Block]:
    """The pictures that show what changed, two side by side."""
    blocks: list[Block] = []
    for row in rows(material.result, "drift"):
        pictures = material.drawn(*(f"finding:{row.get('id')}:{n}" for n in (0, 1)))
        blocks += [Pair(*pictures)] if len(pictures) == 2 else pictures
    without = len(rows(material.result, "drift")) - len(blocks)
    if blocks and without > 0:
        told = wording.counted(without, "further finding is", "further findings are")
        blocks.append(Prose(f"{told} not drawn here; the dashboard shows them.", "note"))
    return blocks


def _settings(material: Material) -> Block:
    listed = [
        (
            str(row["zone"]),
            SETTING_NAMES.get(str(row["setting"]), str(row["setting"])),
            setting_value(row, "commissioned"),
            setting_value(row, "observed"),
            str(row["verdict"]),
            day(row.get("since")),
        )
        for row in rows(material.result, "settings")
    ]
    if not listed:
        return Prose("The study names no agreed settings.", "cannot")
    return grid(
        "Settings: agreed, and as the meters show them last",
        [
            ("zone", "left", 1.3),
            ("setting", "left", 1.5),
            ("agreed", "right", 0.8),
            ("seen", "right", 1.6),
            ("verdict", "left", 1),
            ("changed on", "left", 1.4),
        ],
        listed,
    )


def setting_value(row: Mapping[str, Any], key: str) -> str:
    """A setting's agreed or observed value with its unit and interval."""
    name, found = str(row["setting"]), row.get(key)
    if found is None:
        return "cannot tell" if key == "observed" else NONE
    values = found if isinstance(found, Mapping) else {"estimate": found}
    value = values["estimate"]
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("high_trim", "low_level"):
        return wording.share_with_interval(values) if "low" in values else share(value, 0)
    unit = "min" if name == "hold_minutes" else "W" if name == "standby_watts" else ""
    if wording.half_width(values) is None:
        return wording.in_unit(f"{float(value):g}", unit)
    low, high = float(values["low"]), float(values["high"])
    step = max(wording.step_of((high - low) / 2), FINEST.get(name, 0.0))
    shown = [wording.number(v, step=step) for v in (float(value), low, high)]
    return f"{wording.in_unit(shown[0], unit)} ({shown[1]} to {shown[2]})"


def _when(row: Mapping[str, Any]) -> str:
    return f"{day(row.get('since'))} to {day(row['until'])}" if row.get("until") else day(row.get("since"))


def _drift(material: Material) -> Block:
    found = rows(material.result, "drift")
    if not found:
        return Prose("Nothing changed after hand-over that the data show.")
    listed = []
    for row in found:
        cost = row.get("cost_per_month")
        monthly = estimate(row, "kwh_per_month")
        shown = "cannot tell" if monthly is None else wording.with_interval(monthly, "", confidence=False)
        listed.append(
            (
                str(row["where"]),
                str(row["what"]),
                _when(row),
                shown,
                NONE if cost is None else wording.number(cost),
            )
        )
    return grid(
        "What changed after hand-over",
        [
            ("where", "left", 1),
            ("what", "left", 3.4),
            ("since", "left", 1.2),
            ("kWh a month", "right", 1.5),
            (f"{material.currency} a month", "right", 0.9),
        ],
        listed,
        note="Positive: more is used than before. Less use may be failed lamps, which are no saving.",
    )

"""The text of study.toml for a simulated site."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from mv.simulate.design import INTERFACE_SETTINGS, SiteDesign, ZoneDesign
from mv.simulate.meter import MeterDesign

Value = str | float | bool | date | Sequence[object] | Mapping[str, object]
Table = Mapping[str, object]


@dataclass(frozen=True)
class StudyExtras:
    """Tables of study.toml that a simulation does not need: prediction, peak, prices, events."""

    title: str = "Invented lighting retrofit"
    predicted: Table | None = None
    peak: Table | None = None
    tariff: Table | None = None
    incentive: Table | None = None
    events: tuple[Table, ...] = ()
    claim: Table | None = None
    notes: tuple[str, ...] = ()  # comment lines at the top


def study_text(
    design: SiteDesign,
    meters: Sequence[MeterDesign],
    meter_files: Mapping[str, Sequence[str]],
    motion_files: Mapping[str, Sequence[str]],
    *,
    occupancy: Table,
    weather: Table | None,
    extras: StudyExtras,
) -> str:
    """The whole file, tables in the order of the interface."""
    blocks = ["\n".join(f"# {note}" if note else "#" for note in extras.notes), "format = 1"]
    blocks.append(_table("[study]", {"title": extras.title, "confidence": 0.90}))
    blocks.append(_table("[site]", _site(design)))
    blocks.append(_table("[periods]", {"baseline": design.baseline, "reporting": design.reporting}))
    blocks += [_table("[[meter]]", _meter(meter, meter_files[meter.id])) for meter in meters]
    blocks.append(_table("[occupancy]", {**occupancy, "holidays": design.holidays}))
    blocks.append(_table("[occupancy.hours]", dict(design.hours)))
    if weather:
        blocks.append(_table("[weather]", weather))
    for name in ("predicted", "peak", "tariff", "incentive"):
        table = getattr(extras, name)
        if table:
            blocks.append(_table(f"[{name}]", table))
    fed = {zone: meter.id for meter in meters for zone in meter.zones}
    for zone in design.zones:
        blocks += _zone(zone, fed.get(zone.id), motion_files.get(zone.id, ()))
    blocks += [_table("[[event]]", event) for event in extras.events]
    blocks += _claim(extras.claim) if extras.claim else []
    return "\n\n".join(block for block in blocks if block) + "\n"


def _site(design: SiteDesign) -> Table:
    return {
        "name": design.name,
        "latitude": design.latitude,
        "longitude": design.longitude,
        "timezone": design.timezone,
    }


def _meter(meter: MeterDesign, files: Sequence[str]) -> Table:
    clock = {"utc": "UTC", "iso offset": None}.get(meter.time_style, "site")
    order = {"day first": "day first", "month first": "month first"}.get(meter.time_style)
    keys: dict[str, object] = {
        "quantity": meter.quantity,
        "unit": meter.unit if meter.quantity != "on-off" else None,
        "stamp": meter.stamp if meter.quantity in ("energy", "power") else None,
        "clock": clock,
        "date_order": order,
        "time_column": meter.time_column,
        "value_column": meter.value_column,
        "interval_minutes": meter.interval_minutes if meter.quantity != "on-off" else None,
    }
    stated = meter.study_keys if meter.study_keys is not None else tuple(keys)
    return {
        "id": meter.id,
        "files": list(files),
        "measures": "whole building" if meter.whole_building else "lighting",
        **{key: value for key, value in keys.items() if key in stated and value is not None},
        "zones": list(meter.zones),
    }


def _zone(zone: ZoneDesign, meter: str | None, motion: Sequence[str]) -> list[str]:
    table: dict[str, object] = {"id": zone.id}
    if meter:
        table["meter"] = meter
    table |= {"fixtures": zone.fixtures, "watts_before": zone.watts_before, "watts_after": zone.watts_after}
    table["place"] = "outdoor" if zone.outdoor else "indoor"
    if motion:
        table["motion"] = list(motion)
    blocks = [_table("[[zone]]", table)]
    if zone.hours:
        blocks.append(_table("[zone.hours]", dict(zone.hours)))
    blocks.append(_table("[zone.commissioned]", _commissioned(zone)))
    return blocks


def _commissioned(zone: ZoneDesign) -> Table:
    """What the hand-over sheet would name: no hold time where nothing senses, no dimming outdoors."""
    skip: set[str] = set()
    if zone.outdoor:
        skip = {"low_level", "hold_minutes", "daylight_dimming", "scheduled_off"}
    elif not zone.commissioned.occupancy_sensing:
        skip = {"low_level", "hold_minutes"}
    return {key: zone.commissioned.value(key) for key in INTERFACE_SETTINGS if key not in skip}


def _claim(claim: Table) -> list[str]:
    """[claim], then its tables and its lists of tables under heads of their own."""
    plain: dict[str, object] = {}
    blocks = []
    for key, value in claim.items():
        if isinstance(value, Mapping):
            blocks.append(_table(f"[claim.{key}]", value))
        elif isinstance(value, Sequence) and not isinstance(value, str):
            blocks += [_table(f"[[claim.{key}]]", entry) for entry in value]
        else:
            plain[key] = value
    return [_table("[claim]", plain), *blocks]


def _table(head: str, values: Table) -> str:
    return "\n".join([head, *(f"{_key(key)} = {_value(value)}" for key, value in values.items())])


def _key(key: str) -> str:
    return key if key.replace("_", "").replace("-", "").isalnum() else json.dumps(key)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return f'"{value.isoformat()}"'
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, Sequence):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    raise TypeError(f"study.toml holds no {type(value).__name__}")

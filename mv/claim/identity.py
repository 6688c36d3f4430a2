"""Parts A to D: who and where, what was changed, how it is meant to run, how it was measured."""

from mv.base import wording
from mv.base.claim_records import ControlRecord, Instrument, Party
from mv.base.document import Block, Facts, Prose, Section, grid
from mv.base.result_parts import part, rows
from mv.claim.cells import NONE, day, said, share, stated
from mv.claim.material import Material

OPTIONS = {
    "A": "A: key parameter measured, the others stated",
    "B": "B: all parameters measured at the retrofit's boundary",
    "C": "C: the whole facility's meter",
    "D": "D: calibrated simulation",
}
NOT_STATED = "not stated"
SETTING_NAMES = {
    "high_trim": "full-on level",
    "low_level": "level when vacant",
    "hold_minutes": "hold time",
    "daylight_dimming": "daylight dimming",
    "scheduled_off": "off outside hours",
    "standby_watts": "standby",
}


def identity(material: Material) -> Section:
    """A: programme, account, site, people and dates."""
    claim, site, periods = material.claim, material.study.site, material.study.periods
    assert periods is not None
    pairs = [
        ("programme", said(claim.programme)),
        ("application number", said(claim.application)),
        ("control strategies", said(", ".join(claim.strategies) or None)),
        ("utility account", said(claim.utility_account)),
        ("utility meter", said(claim.utility_meter)),
        ("site", site.name),
        ("address", said(claim.site_address)),
        (
            "place",
            f"{_degrees(site.latitude, 'north', 'south')}, {_degrees(site.longitude, 'east', 'west')}; "
            f"clock {site.timezone}",
        ),
        ("owner", party(claim.owner)),
        ("contractor", party(claim.contractor)),
        ("measurement and verification", party(claim.analyst)),
        ("measurement plan agreed", day(claim.plan_agreed)),
        ("pre-inspection", day(claim.pre_inspection)),
        ("installation", _span(claim.install_first, claim.install_last)),
        ("commissioned", day(claim.commissioned)),
        ("baseline period", _span(periods.baseline.first, periods.baseline.last)),
        ("reporting period", _span(periods.reporting.first, periods.reporting.last)),
        ("papers due", day(claim.due)),
    ]
    return Section(
        "Identity", (Facts(tuple((k, NOT_STATED if v == NONE else v) for k, v in pairs)),), letter="A"
    )


def controls(material: Material) -> Section:
    """C: settings as commissioned, sequence of operation, tests and signatures."""
    blocks: list[Block] = [_settings(material)]
    records = [entry for entry in material.controls if _says(entry)]
    for entry in records:
        blocks.append(
            Facts(
                (
                    ("zone", entry.zone),
                    ("sequence of operation", said(entry.sequence)),
                    ("devices", said(entry.devices)),
                    ("tested", day(entry.tested)),
                    ("signed by", said(entry.signed_by)),
                )
            )
        )
    silent = [zone.id for zone in material.study.zone if zone.id not in {entry.zone for entry in records}]
    if silent:
        zones = wording.listed(silent)
        blocks.append(Prose(f"No sequence of operation or test record is stated for {zones}.", "cannot"))
    return Section("Controls: settings agreed at hand-over", tuple(blocks), letter="C")


def _says(entry: ControlRecord) -> bool:
    return any((entry.sequence, entry.devices, entry.tested, entry.signed_by))


def _settings(material: Material) -> Block:
    listed = []
    for zone in material.study.zone:
        agreed = zone.commissioned
        listed.append(
            (
                zone.id,
                share(agreed.high_trim, 0),
                share(agreed.low_level, 0),
                NONE if agreed.hold_minutes is None else f"{agreed.hold_minutes:g} min",
                said(agreed.daylight_dimming),
                said(agreed.scheduled_off),
                NONE if agreed.standby_watts is None else f"{agreed.standby_watts:g} W",
            )
        )
    return grid(
        "Settings as commissioned (agreed; section H shows what the meters say)",
        [("zone", "left", 1.6), *((name, "right", 1.1) for name in SETTING_NAMES.values())],
        listed,
        note="Levels are shares of the connected load. A dash: nothing was agreed.",
    )


def measurement(material: Material) -> Section:
    """D: points, instruments, intervals and clocks."""
    claim = material.claim
    instruments = {entry.meter: entry for entry in material.instruments}
    cleaning = {str(row.get("meter")): row for row in rows(material.result, "cleaning")}
    points, tools = [], []
    for meter in material.study.meter:
        told = part(cleaning.get(meter.id, {}), "inferred") or {}
        zones = ", ".join(zone.id for zone in material.study.zones_of(meter.id)) or ", ".join(meter.zones)
        tool = instruments.get(meter.id, Instrument(meter=meter.id))
        points.append(
            (
                meter.id,
                zones or NONE,
                meter.measures,
                _told(told, "quantity"),
                _told(told, "interval"),
                _told(told, "stamp"),
                _told(told, "clock"),
            )
        )
        accuracy = (
            f"±{100 * meter.accuracy:g} % ({meter.accuracy_source or 'no source'})"
            if meter.accuracy
            else None
        )
        tools.append(
            (
                meter.id,
                said(tool.kind),
                said(tool.range),
                said(tool.accuracy or accuracy),
                day(tool.calibrated),
                said(tool.clock_set_by),
                day(tool.installed),
                day(tool.removed),
            )
        )
    option = f"Option {OPTIONS[claim.option]}." if claim.option else "The measurement option is not stated."
    return Section(
        "Measurement",
        (
            Prose(option),
            grid(
                "Points, and how each file was read",
                [
                    ("meter", "left", 1),
                    ("zones", "left", 1.4),
                    ("measures", "left", 1.1),
                    ("quantity", "left", 1.9),
                    ("interval", "left", 1.3),
                    ("stamp", "left", 1.7),
                    ("clock", "left", 1.7),
                ],
                points,
            ),
            stated(
                grid(
                    "Instruments (stated)",
                    [
                        ("meter", "left", 1),
                        ("kind", "left", 1.4),
                        ("range", "left", 1),
                        ("accuracy", "left", 1.5),
                        ("calibrated", "left", 1.2),
                        ("clock set by", "left", 1.2),
                        ("installed", "left", 1.2),
                        ("removed", "left", 1.2),
                    ],
                    tools,
                ),
                "No instrument is stated.",
            ),
            Prose(
                claim.sampling
                or f"{_circuits(material)} metered; whether these are all or a sample is not stated."
            ),
        ),
        letter="D",
    )


def _circuits(material: Material) -> str:
    return wording.counted(len(material.study.meter), "circuit")


def _told(told: object, key: str) -> str:
    """ "energy, kWh: from the heading 'kWh'" as it stands; a dash where the ledger does not say."""
    return said(told.get(key)) if isinstance(told, dict) else NONE


def party(found: Party | None) -> str:
    """Name and contact."""
    if found is None:
        return NONE
    return f"{found.name} ({found.contact})" if found.contact else found.name


def _degrees(value: float, positive: str, negative: str) -> str:
    return f"{abs(value):g}° {positive if value >= 0 else negative}"


def _span(first: object, last: object) -> str:
    if first is None and last is None:
        return NONE
    return f"{day(first)} to {day(last)}"

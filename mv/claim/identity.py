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


def scope(material: Material) -> Section:
    """B: the fixtures before and after, as stated."""
    blocks: list[Block] = [
        Prose(
            "Stipulated: counts, watts and hours below are as stated in the study and its inventory. "
            "None of them is measured; none enters the metered saving."
        )
    ]
    if material.spaces:
        blocks.append(_inventory(material))
    blocks.append(_zones(material))
    if material.claim.existing_equipment:
        blocks.append(Prose(f"Evidence of the old lighting: {material.claim.existing_equipment}"))
    return Section("Scope: area by area, before and after", tuple(blocks), letter="B")


def _inventory(material: Material) -> Block:
    spaces = material.spaces
    listed = [
        (
            item.space,
            item.zone,
            f"{item.quantity:g}",
            f"{item.watts_before:g}",
            f"{item.watts_after:g}",
            f"{item.quantity * item.watts_before / 1000:,.2f}",
            f"{item.quantity * item.watts_after / 1000:,.2f}",
            f"{item.hours_per_year:,.0f}",
            share(item.control_saving_fraction, 0),
        )
        for item in spaces
    ]
    before = sum(item.quantity * item.watts_before for item in spaces) / 1000
    after = sum(item.quantity * item.watts_after for item in spaces) / 1000
    count = sum(item.quantity for item in spaces)
    listed.append(("all spaces", "", f"{count:g}", "", "", f"{before:,.2f}", f"{after:,.2f}", "", ""))
    return grid(
        "Inventory (stated)",
        [
            ("space", "left", 2.4),
            ("zone", "left", 1.5),
            ("fixtures", "right", 1.1),
            ("W before", "right", 1),
            ("W after", "right", 1),
            ("kW before", "right", 1.1),
            ("kW after", "right", 1.1),
            ("hours a year", "right", 1.1),
            ("control saving", "right", 1.1),
        ],
        listed,
        total_rows=1,
    )


def _zones(material: Material) -> Block:
    control = {entry.zone: entry for entry in material.controls}
    listed = []
    for zone in material.study.zone:
        record = control.get(zone.id, ControlRecord(zone=zone.id))
        listed.append(
            (
                zone.id,
                said(zone.meter),
                said(zone.place),
                said(zone.fixtures),
                said(zone.watts_before),
                said(zone.watts_after),
                said(record.watts_source),
                said(record.control_before),
                said(record.control_after),
            )
        )
    table = grid(
        "Zones as metered (stated)",
        [
            ("zone", "left", 1.4),
            ("meter", "left", 1),
            ("place", "left", 1),
            ("fixtures", "right", 1),
            ("W before", "right", 1),
            ("W after", "right", 1),
            ("W from", "left", 1.3),
            ("control before", "left", 1.6),
            ("control after", "left", 1.6),
        ],
        listed,
    )
    return stated(table, "The study describes no zones.")


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

"""Part B: what was changed, area by area, as stated."""

from mv.base.claim_records import ControlRecord
from mv.base.document import Block, Prose, Section, grid
from mv.base.result_parts import rows
from mv.claim.cells import NONE, said, share, stated
from mv.claim.material import Material


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
    blocks += [_zones(material), *_inventory_findings(material)]
    if material.claim.existing_equipment:
        blocks.append(Prose(f"Evidence of the old lighting: {material.claim.existing_equipment}"))
    return Section("Scope: area by area, before and after", tuple(blocks), letter="B")


def _inventory_findings(material: Material) -> list[Block]:
    """What in the inventory cannot be so, or does not fit the zones and the meters."""
    listed = [
        (
            str(row.get("space") or row.get("zone") or NONE),
            str(row.get("what")),
            ", ".join(str(line) for line in row.get("lines") or []) or NONE,
            str(row.get("remedy") or NONE),
        )
        for row in rows(material.result, "predicted", "findings")
    ]
    if not listed:
        return []
    return [
        grid(
            "Where the inventory does not fit",
            [("where", "left", 1.2), ("what", "left", 3), ("lines", "left", 0.7), ("remedy", "left", 2)],
            listed,
        )
    ]


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

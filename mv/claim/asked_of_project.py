"""Parts A to D and J of what programmes commonly ask for: what people state and attach.

The list merges the trade's checklists with common practice; a programme's own goes before it.
"""

from mv.base.claim_records import AttachmentKind
from mv.base.result_parts import rows
from mv.claim.asked_item import Item, Who, one, some
from mv.claim.material import Material


def identity(material: Material) -> list[Item]:
    """A: who, where and when."""
    claim = material.claim
    dates = (claim.pre_inspection, claim.install_first, claim.install_last, claim.commissioned)
    people = (claim.owner, claim.contractor, claim.analyst)
    return [
        one(
            "A",
            "programme and application number",
            claim.programme and claim.application,
            "contractor",
            "State [claim] programme, application.",
        ),
        one(
            "A",
            "utility account and meter number",
            claim.utility_account and claim.utility_meter,
            "owner",
            "State [claim] utility_account, utility_meter.",
        ),
        one("A", "site address", claim.site_address, "owner", "State [claim] site_address."),
        some(
            "A",
            "owner, contractor and analyst, with contacts",
            sum(bool(p and p.contact) for p in people),
            3,
            "contractor",
            "State [claim.owner], [claim.contractor], [claim.analyst]",
        ),
        some(
            "A",
            "dates of pre-inspection, installation and commissioning",
            sum(bool(d) for d in dates),
            4,
            "contractor",
            "State [claim] pre_inspection, install_first, install_last, commissioned",
        ),
        one("A", "periods of measurement", material.study.periods, "analyst", "State [periods]."),
        one(
            "A",
            "plan agreed before installation",
            claim.plan_agreed,
            "programme",
            "Ask for the date; state [claim] plan_agreed.",
        ),
        one("A", "last day for the papers", claim.due, "programme", "Ask for it; state [claim] due."),
    ]


def scope(material: Material) -> list[Item]:
    """B: what was changed."""
    zones = material.study.zone
    described = sum(
        z.fixtures is not None and z.watts_before is not None and z.watts_after is not None for z in zones
    )
    sources = {entry.zone for entry in material.controls if entry.watts_source}
    types = {e.zone for e in material.controls if e.control_before and e.control_after}
    return [
        one(
            "B",
            "area-by-area inventory before and after",
            material.spaces,
            "contractor",
            "Add inventory.csv, one row a space.",
        ),
        some(
            "B",
            "counts and input watts of each zone",
            described,
            len(zones),
            "contractor",
            "State fixtures, watts_before and watts_after of each zone",
        ),
        some(
            "B",
            "where the watts come from",
            len(sources),
            len(zones),
            "contractor",
            "State watts_source for each zone under [[claim.controls]]",
        ),
        some(
            "B",
            "control type before and after",
            len(types),
            len(zones),
            "contractor",
            "State control_before and control_after under [[claim.controls]]",
        ),
        one(
            "B",
            "proof of the old equipment",
            material.claim.existing_equipment or _attached(material, "photograph before"),
            "contractor",
            "Describe it under existing_equipment, or attach photographs from before.",
        ),
    ]


def controls(material: Material) -> list[Item]:
    """C: how it is meant to run."""
    zones = material.study.zone
    agreed = sum(any(v is not None for v in zone.commissioned.model_dump().values()) for zone in zones)
    records = material.controls
    where = "under [[claim.controls]]"
    return [
        some(
            "C",
            "settings as commissioned",
            agreed,
            len(zones),
            "contractor",
            "State them under [zone.commissioned]",
        ),
        some(
            "C",
            "sequence of operation",
            sum(bool(r.sequence) for r in records),
            len(zones),
            "contractor",
            f"State sequence {where}",
        ),
        some(
            "C",
            "device counts",
            sum(bool(r.devices) for r in records),
            len(zones),
            "contractor",
            f"State devices {where}",
        ),
        some(
            "C",
            "test record, and who signed",
            sum(bool(r.tested and r.signed_by) for r in records),
            len(zones),
            "contractor",
            f"State tested and signed_by {where}",
        ),
    ]


def measurement(material: Material) -> list[Item]:
    """D: what measured, and how."""
    meters, tools = material.study.meter, material.instruments
    described = sum(bool(tool.kind and tool.accuracy) for tool in tools)
    calibrated = sum(bool(tool.calibrated) for tool in tools)
    dated = sum(bool(tool.installed) for tool in tools)
    inferred = sum(bool(row.get("inferred")) for row in rows(material.result, "cleaning"))
    where = "under [[claim.instrument]]"
    return [
        one(
            "D",
            "measurement option",
            material.claim.option,
            "analyst",
            'State option = "A" to "D" under [claim].',
        ),
        some("D", "points, intervals, clocks", inferred, len(meters), "analyst", "Read every meter's file"),
        some(
            "D",
            "instruments: kind and accuracy",
            described,
            len(meters),
            "analyst",
            f"State kind, accuracy {where}",
        ),
        some("D", "calibration dates", calibrated, len(meters), "analyst", f"State calibrated {where}"),
        some(
            "D",
            "dates of installation and removal",
            dated,
            len(meters),
            "analyst",
            f"State installed {where}",
        ),
        one(
            "D",
            "circuit map",
            _attached(material, "circuit map"),
            "contractor",
            'Attach it, kind "circuit map".',
        ),
        one(
            "D",
            "sampling frame and selection, or that all is measured",
            material.claim.sampling,
            "analyst",
            "State sampling under [claim].",
        ),
    ]


PAPERS: tuple[tuple[AttachmentKind, str, Who], ...] = (
    ("invoice", "invoices, material and labour apart", "contractor"),
    ("specification sheet", "specification sheets", "contractor"),
    ("product list", "evidence that products are on the programme's list", "contractor"),
    ("photograph before", "photographs before", "contractor"),
    ("photograph after", "photographs after", "contractor"),
    ("disposal record", "record of removal and disposal", "contractor"),
    ("permit", "permits", "contractor"),
    ("commissioning report", "commissioning report", "contractor"),
    ("tax form", "tax form", "owner"),
    ("completion certificate", "signed completion certificate", "owner"),
)


def papers(material: Material) -> list[Item]:
    """J: the papers."""
    return [
        one("J", what, _attached(material, kind), who, f'Attach it: [[claim.attachment]] kind = "{kind}".')
        for kind, what, who in PAPERS
    ]


def _attached(material: Material, kind: AttachmentKind) -> bool:
    return any(a.kind == kind and a.file not in material.absent for a in material.claim.attachment)

"""[claim] of study.toml: what a programme asks of a claim beyond the measured numbers. All optional.

Nothing here enters a number; what is missing is listed with whose task it is.
"""

from datetime import date
from typing import Literal

from mv.base.study_fields import Name, Names, Record, Text

AttachmentKind = Literal[
    "invoice",
    "specification sheet",
    "product list",
    "photograph before",
    "photograph after",
    "disposal record",
    "permit",
    "commissioning report",
    "tax form",
    "completion certificate",
    "measurement plan",
    "circuit map",
    "calibration record",
    "other",
]
MeasurementOption = Literal["A", "B", "C", "D"]


class Party(Record):
    """A person or firm that has a part in the claim."""

    name: Name
    contact: Name | None = None  # how to reach them, in their own words


class Instrument(Record):
    """[[claim.instrument]]: what measured at a meter's point."""

    meter: Name
    kind: Name | None = None
    range: Name | None = None
    accuracy: Name | None = None
    calibrated: date | None = None
    clock_set_by: Name | None = None
    installed: date | None = None
    removed: date | None = None


class ControlRecord(Record):
    """[[claim.controls]]: how a zone is meant to run, and who has signed that it does."""

    zone: Name
    sequence: Text | None = None  # sequence of operation
    control_before: Name | None = None
    control_after: Name | None = None
    devices: Name | None = None  # counts, such as "12 sensors, 1 controller"
    tested: date | None = None
    signed_by: Name | None = None
    watts_source: Literal["measured", "specification sheet", "programme table"] | None = None


class Attachment(Record):
    """[[claim.attachment]]: a file that goes with the claim, relative to study.toml."""

    kind: AttachmentKind
    file: Name
    note: Name | None = None


class Claim(Record):
    """[claim]"""

    programme: Name | None = None
    application: Name | None = None
    utility_account: Name | None = None
    utility_meter: Name | None = None
    site_address: Name | None = None
    owner: Party | None = None
    contractor: Party | None = None
    analyst: Party | None = None
    due: date | None = None  # the programme's last day for the papers
    plan_agreed: date | None = None  # before installation
    pre_inspection: date | None = None
    install_first: date | None = None
    install_last: date | None = None
    commissioned: date | None = None
    option: MeasurementOption | None = None
    sampling: Text | None = None  # frame and selection, or why every circuit is measured
    existing_equipment: Text | None = None  # how the old lighting was evidenced
    rounding: Name | None = None
    strategies: Names = ()  # control strategies, as the programme names them
    instrument: tuple[Instrument, ...] = ()
    controls: tuple[ControlRecord, ...] = ()
    attachment: tuple[Attachment, ...] = ()

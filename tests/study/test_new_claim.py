"""The commented [claim] of a new study: once its comments are off, it is one, and it names every key."""

import re
import tomllib

from mv.base.claim_records import Attachment, Claim, ControlRecord, Instrument
from mv.drafting.claim_text import NEW_CLAIM


def uncommented() -> str:
    """From [claim] on, every line without its comment mark."""
    lines = NEW_CLAIM.splitlines()
    return "\n".join(re.sub(r"^# ", "", line) for line in lines[lines.index("# [claim]") :])


def test_every_line_is_a_comment() -> None:
    assert all(line.startswith("# ") for line in NEW_CLAIM.splitlines())


def test_without_its_comment_marks_it_is_a_claim_that_names_every_key() -> None:
    table = tomllib.loads(uncommented().replace('"..."', '"x"'))["claim"]
    Claim.model_validate(table)
    assert set(table) == set(Claim.model_fields)
    assert set(table["instrument"][0]) == set(Instrument.model_fields) - {"removed"}
    assert set(table["controls"][0]) == set(ControlRecord.model_fields)
    assert set(table["attachment"][0]) == set(Attachment.model_fields) - {"note"}

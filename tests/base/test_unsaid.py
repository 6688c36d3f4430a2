"""What cannot be said is named in words, never by a key."""

import pytest

from mv.base.setting_words import SETTINGS
from mv.base.unsaid import plain_name, spoken_name


@pytest.mark.parametrize(
    ("what", "spoken", "plain"),
    [
        ("hold_minutes in stairs", "Hold time after the last motion in stairs", None),
        ("high_trim in a in b", "Full-on level in a in b", None),
        ("realisation_rate", "Realisation rate", "Share of the promise"),
        ("demand charge saving", "Demand charge saving", None),
    ],
)
def test_a_key_becomes_words(what: str, spoken: str, plain: str | None) -> None:
    assert spoken_name(what) == spoken
    assert plain_name(what) == (plain or spoken)


def test_no_setting_keeps_its_key() -> None:
    assert all("_" not in spoken_name(f"{setting} in hall") for setting in SETTINGS)

"""What a reviewer would find first: dates, counts and names that contradict each other."""

from datetime import date
from typing import Any

import pandas as pd
import pytest

from mv.base.claim_records import Claim
from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.claim import Material, Space, contradictions

SOUND = {
    "plan_agreed": date(2023, 11, 2),
    "pre_inspection": date(2023, 12, 5),
    "install_first": date(2024, 1, 8),
    "install_last": date(2024, 2, 16),
    "commissioned": date(2024, 2, 20),
    "due": date(2025, 6, 30),
    "instrument": [{"meter": "M", "installed": date(2022, 12, 20), "removed": date(2025, 3, 5)}],
    "controls": [{"zone": "hall", "tested": date(2024, 2, 19)}],
}
HALL = Space("Hall", "hall", 40, 100.0, 40.0, 4000, 0.3)


def material_with(spaces: tuple[Space, ...] = (HALL,), **changes: Any) -> Material:
    study = Study.model_validate(
        {
            "format": 1,
            "site": {"latitude": 1.0, "longitude": 2.0, "timezone": "UTC"},
            "periods": {"baseline": ["2023-01-01", "2023-12-31"], "reporting": ["2024-03-01", "2025-02-28"]},
            "meter": [{"id": "M", "files": ["m.csv"], "zones": ["hall"]}],
            "zone": [{"id": "hall", "fixtures": 40, "watts_before": 100.0, "watts_after": 40.0}],
            "claim": Claim.model_validate({**SOUND, **changes}).model_dump(),
        }
    )
    result = {"made_at": "2025-04-01T00:00:00+00:00"}
    return Material(Verification(study, result, {}, pd.DataFrame(), pd.DataFrame()), spaces=spaces)


def test_sound_papers_contradict_nothing() -> None:
    assert contradictions(material_with()) == ()
    assert contradictions(material_with(spaces=())) == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"install_first": date(2023, 12, 31)}, "the baseline would hold new lighting"),
        ({"install_last": date(2024, 3, 1)}, "it would hold old lighting"),
        ({"install_last": date(2024, 1, 2)}, "before it begins"),
        ({"plan_agreed": date(2024, 1, 9)}, "agreed before"),
        ({"pre_inspection": date(2024, 1, 9)}, "could not see the old lighting"),
        ({"commissioned": date(2024, 3, 2)}, "settings may not have been final"),
        ({"controls": [{"zone": "hall", "tested": date(2024, 1, 7)}]}, "hall: tested on 7 January 2024"),
        ({"instrument": [{"meter": "M", "installed": date(2023, 1, 2)}]}, "after the baseline began"),
        ({"instrument": [{"meter": "M", "removed": date(2025, 2, 27)}]}, "period ended on 28 February 2025"),
        ({"instrument": [{"meter": "X"}]}, "names the meter 'X'"),
        ({"controls": [{"zone": "attic"}]}, "names the zone 'attic'"),
        ({"due": date(2025, 3, 31)}, "due on 31 March 2025"),
    ],
)
def test_each_contradiction_is_told_once_with_both_sides(changes: dict[str, Any], words: str) -> None:
    (sentence,) = contradictions(material_with(**changes))
    assert words in sentence


@pytest.mark.parametrize(
    ("space", "words"),
    [
        (Space("Hall", "hall", 39, 100.0, 40.0, 4000, 0.3), "39 fixtures in the inventory, 40 in the study"),
        (Space("Hall", "hall", 40, 103.0, 40.0, 4000, 0.3), "103 W a fixture before"),
        (Space("Hall", "hall", 40, 100.0, 38.0, 4000, 0.3), "38 W a fixture after"),
    ],
)
def test_an_inventory_unlike_the_study_is_told(space: Space, words: str) -> None:
    (sentence,) = contradictions(material_with(spaces=(space,)))
    assert words in sentence


def test_two_spaces_of_a_zone_count_together() -> None:
    halves = (Space("A", "hall", 10, 160.0, 64.0, 4000, 0.3), Space("B", "hall", 30, 80.0, 32.0, 4000, 0.3))
    assert contradictions(material_with(spaces=halves)) == ()

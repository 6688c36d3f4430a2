"""The strategies under which a portfolio counts a study."""

from typing import Any

import pytest

from mv.base.study_records import Study
from mv.portfolio.condense import NO_CONTROLS, strategies_of

HALL = {"id": "hall", "commissioned": {"hold_minutes": 10.0, "high_trim": 0.8, "scheduled_off": False}}


@pytest.mark.parametrize(
    ("claim", "zones", "told"),
    [
        ({}, [HALL], ("high-end trim", "occupancy sensing")),
        ({"strategies": ["tuning", "plug loads", "tuning"]}, [HALL], ("tuning", "plug loads")),
        ({"strategies": "scheduling"}, [HALL], ("scheduling",)),
        ({}, [{"id": "hall", "commissioned": {"high_trim": 1.0}}], (NO_CONTROLS,)),
    ],
)  # fmt: skip
def test_the_claims_own_words_go_before_what_was_agreed(
    claim: dict[str, Any], zones: list[dict[str, Any]], told: tuple[str, ...]
) -> None:
    study = Study.model_validate(
        {
            "format": 1,
            "site": {"name": "Nowhere", "latitude": 1.0, "longitude": 2.0, "timezone": "Asia/Singapore"},
            "meter": [{"id": "A", "files": ["a.csv"]}],
            "zone": [zone | {"meter": "A"} for zone in zones],
            "claim": claim,
        }
    )
    assert strategies_of(study.model_dump(mode="json")) == told

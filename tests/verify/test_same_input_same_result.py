"""The same study gives the same bytes, but for the time they were made."""

import shutil
from pathlib import Path

from mv import store
from mv.base.verification import Verification
from mv.verify import verify_study


def test_a_second_run_gives_the_same_result_but_for_when_it_was_made(
    sample: Verification, sample_folder: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "elsewhere"
    shutil.copytree(sample_folder, copy, ignore=shutil.ignore_patterns("results"))
    again = verify_study(copy)
    texts = [store.result_text({**v.result, "made_at": ""}) for v in (sample, again)]
    assert texts[0] == texts[1]

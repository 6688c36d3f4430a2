"""The one-screen summary says what result.json says."""

from pathlib import Path

from mv.base.verification import Verification
from mv.summary import number, summary_text


def test_numbers_are_written_for_reading() -> None:
    assert [number(v) for v in (12345.6, 99.95, 12.34, 1.234, -0.5)] == [
        "12,346", "100.0", "12.3", "1.23", "-0.50",
    ]  # fmt: skip


def test_the_summary_carries_the_answers_and_fits_a_terminal(sample: Verification) -> None:
    text = summary_text(sample.result, Path("result.json"))
    avoided = sample.result["savings"]["avoided_kwh"]
    assert f"{avoided['estimate']:,.0f} kWh  ({avoided['low']:,.0f} to {avoided['high']:,.0f})" in text
    rate = sample.result["realisation_rate"]["estimate"]
    assert f"{100 * rate:.0f} %" in text
    moved = [row for row in sample.result["settings"] if row["since"]]
    flowing = " ".join(text.split())
    assert all(f"moved since {row['since']}" in flowing for row in moved)
    kept = [row for row in sample.result["settings"] if row["verdict"] == "kept"]
    assert text.count(" kept") == len(kept)
    assert "licensed electrician" in text
    assert "further published limits" in flowing
    assert max(len(line) for line in text.splitlines()) <= 100

"""A step that costs energy carries its explanation to the caption, the hover and the table."""

from mv.figures.bridge_steps import bridge

NOTE = "Negative in the stated order: scheduling takes that back."


def _step(name: str, kwh: float, note: str | None = None) -> dict[str, object]:
    entry: dict[str, object] = {
        "step": name,
        "kwh": {"estimate": kwh, "low": kwh - 10, "high": kwh + 10, "confidence": 0.9},
        "why": f"why of {name}",
    }
    return entry if note is None else entry | {"note": note}


def test_the_note_stands_beside_the_bar_in_the_caption_and_in_the_table() -> None:
    steps = [
        _step("high trim", 500.0),
        _step("occupancy sensing", -300.0, NOTE),
        _step("standby", -40.0, "Negative: standby costs."),
    ]
    drawn = bridge({"bridge": {"baseline_to_reporting": steps}}, "baseline_to_reporting")
    assert f"Occupancy sensing: {NOTE}" in drawn.caption
    assert "standby costs" not in drawn.caption
    whys = dict(zip(drawn.table["step"], drawn.table["why"], strict=True))
    assert whys["occupancy sensing"] == f"{NOTE} why of occupancy sensing"
    assert whys["standby"].startswith("Negative: standby costs.")
    assert whys["high trim"] == "why of high trim"
    assert drawn.figure is not None
    hovers = [text.replace("<br>", " ") for text in drawn.figure.data[0].customdata]
    assert hovers[1] == NOTE and hovers[0] == "why of high trim"

"""How much of a result rests on months of the year that were never metered, in sentences."""

from mv.verifying.meter_savings import MeterSavings

LEAST_SHARE = 0.005  # of the energy; less is not worth a sentence (common practice, no source)
# What carries such months, of lights alone and of a whole building.
NOT_SEEN = {
    False: "what the season does there follows from sun and calendar alone",
    True: "what the building does there follows from the slopes of other months; the interval is widened",
}


def extrapolation_sentences(item: MeterSavings, only: str | None = None) -> tuple[str, ...]:
    """One sentence for each result that is extrapolated, or those of one period's model alone."""
    sentences = []
    for period in ("baseline", "reporting"):
        share = item.extrapolated_share[f"{period}_year"]
        if share is not None and share > LEAST_SHARE and only in (None, period):
            sentences.append(
                f"{share:.0%} of the {period} model's typical year falls in months of which the {period} "
                "period metered no day; the interval is widened for them."
            )
    share = item.extrapolated_share["avoided"]
    if share is not None and share > LEAST_SHARE and only in (None, "baseline"):
        sentences.append(
            f"{share:.0%} of the expected energy of the reporting period falls in months of the year that "
            f"the baseline never saw: {NOT_SEEN[item.kind == 'whole building']}."
        )
    return tuple(sentences)

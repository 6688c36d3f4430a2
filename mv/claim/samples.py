"""Loggers that stand for usage groups: what was logged, what it was carried to, how precise the sample is."""

from mv.base import wording
from mv.base.document import Block, grid
from mv.base.result_parts import estimate, rows
from mv.claim.cells import NONE, energy, fixed, in_words
from mv.claim.material import Material


def samples(material: Material) -> list[Block]:
    """A row a usage group; nothing where every meter counts for itself."""
    groups = rows(material.result, "savings", "population")
    if not groups:
        return []
    listed = []
    for row in groups:
        precision = row.get("sampling_precision")
        listed.append(
            (
                str(row["id"]),
                f"{row['loggers_used']} of {len(row['meters'])}",
                fixed(float(row["logged_kw"]), 2),
                str(row["places"]),
                fixed(float(row["connected_kw"]), 2),
                in_words(estimate(row, "avoided_kwh"), ""),
                NONE if precision is None else wording.per_cent(precision),
                energy(row.get("sampling_half_width_kwh")),
                energy(row.get("model_half_width_kwh")),
            )
        )
    return [
        grid(
            "Usage groups: loggers stand for places without one, by connected load (stated)",
            [
                ("group", "left", 1.3),
                ("loggers used", "right", 0.9),
                ("kW logged", "right", 0.8),
                ("places", "right", 0.8),
                ("kW in all", "right", 0.8),
                ("avoided, kWh", "right", 2),
                ("precision reached", "right", 1),
                ("± sampling, kWh", "right", 1),
                ("± models, kWh", "right", 1),
            ],
            listed,
            note=" ".join(str(row["how"]) for row in groups if row.get("how")),
        )
    ]

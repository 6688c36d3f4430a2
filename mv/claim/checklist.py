"""Contents and completeness: what is in the package, what is not, and whose task the rest is."""

from collections.abc import Sequence

from mv.base.document import Block, Caution, Prose, grid
from mv.claim.asked_item import Item
from mv.claim.asked_of_project import controls, identity, measurement, papers, scope
from mv.claim.asked_of_result import adjustments, models, money, quality, results
from mv.claim.cells import NONE
from mv.claim.contradictions import contradictions
from mv.claim.material import Material

ASKED_FOR = (identity, scope, controls, measurement, quality, models, adjustments, results, money, papers)
PART_NAMES = {
    "A": "identity",
    "B": "scope",
    "C": "controls",
    "D": "measurement",
    "E": "data quality",
    "F": "models",
    "G": "adjustments",
    "H": "results",
    "I": "money",
    "J": "attachments",
}


def checklist(material: Material) -> tuple[Item, ...]:
    """Every item of parts A to J. Only what can be seen counts as there."""
    return tuple(item for make in ASKED_FOR for item in make(material))


def missing(items: Sequence[Item]) -> tuple[Item, ...]:
    """Those that are not wholly there."""
    return tuple(item for item in items if item.state != "there")


def checklist_blocks(material: Material) -> tuple[Block, ...]:
    """The report's contents and completeness check, a row a part; the items stand at the report's end."""
    items = checklist(material)
    there = len(items) - len(missing(items))
    words = (
        f"Of {len(items)} things that programmes commonly ask for, {there} are in this package. "
        "A programme's own list goes before it. Part N lists every item with what is to do."
    )
    table = grid(
        "Contents, and what is missing by whose task it is",
        [("part", "left", 1.5), ("here", "right", 0.8), ("missing, or only in part", "left", 6)],
        [_of_part(letter, [item for item in items if item.part == letter]) for letter in PART_NAMES],
    )
    against = contradictions(material)
    told = (Caution("Stated papers and data contradict each other", against),) if against else ()
    return Prose(words), table, *told


def _of_part(letter: str, items: Sequence[Item]) -> tuple[str, str, str]:
    open_items = missing(items)
    told = [
        f"{who}: {', '.join(item.what for item in open_items if item.who == who)}"
        for who in dict.fromkeys(item.who for item in open_items)
    ]
    here = f"{len(items) - len(open_items)} of {len(items)}"
    return f"{letter}  {PART_NAMES[letter]}", here, "; ".join(told) or NONE


def every_item(material: Material) -> Block:
    """The whole list, item by item."""
    return grid(
        "What is asked for, what is here, and whose task the rest is",
        [
            ("part", "left", 0.4),
            ("asked for", "left", 2.6),
            ("here", "left", 0.7),
            ("whose task", "left", 0.9),
            ("to do", "left", 3),
        ],
        [
            (item.part, item.what, item.state, item.who if item.todo else "", item.todo)
            for item in checklist(material)
        ],
    )

"""Part F: the models, their fit, the limits they were held to and where those come from."""

from mv.base import wording
from mv.base.document import Block, Heading, Listing, Prose, Section, grid
from mv.base.result_parts import rows
from mv.claim.cells import NONE, fixed, share, significant
from mv.claim.material import Json, Material
from mv.claim.validity import validity


def models(material: Material) -> Section:
    """F: one block a model, baseline first."""
    blocks: list[Block] = [
        Prose(
            "Each meter has a model of its daily kWh in the baseline period and one in the reporting period. "
            "Interval widths allow for the residuals' persistence from day to day."
        ),
        _summary(material),
        validity(material),
    ]
    for period in ("baseline", "reporting"):
        for model in material.models(period):
            blocks += _model(model)
            blocks += material.drawn(f"residuals:{model['meter']}:{period}")
    if not rows(material.result, "models"):
        blocks.append(Prose("No model could be made; section K says why.", "cannot"))
    return Section("Models", tuple(blocks), letter="F")


def _summary(material: Material) -> Block:
    listed = [
        (
            str(model["meter"]),
            str(model["period"]),
            f"{model['n']:,}",
            said_count(model.get("p")),
            fixed(model.get("r2"), 2),
            share(model.get("cv_rmse")),
            share(model.get("nmbe"), 2),
            fixed(model.get("lag1_autocorrelation"), 2),
            _verdict(model),
        )
        for period in ("baseline", "reporting")
        for model in material.models(period)
    ]
    return grid(
        "Fit of each model",
        [
            ("meter", "left", 1),
            ("period", "left", 1.2),
            ("days", "right", 0.7),
            ("terms", "right", 0.7),
            ("R²", "right", 0.7),
            ("CV(RMSE)", "right", 1),
            ("NMBE", "right", 0.9),
            ("lag-1 autocorr.", "right", 1),
            ("limits met", "right", 1),
        ],
        listed,
        note="Limits are shown for the reviewer; those that decide on acceptance stand in part H.",
    )


def said_count(value: object) -> str:
    """A count, or a dash."""
    return NONE if value is None else str(value)


def _verdict(model: Json) -> str:
    tests = rows(model, "tests")
    decided = [test for test in tests if test.get("passed") is not None]
    met = sum(bool(test["passed"]) for test in decided)
    return f"{met} of {len(decided)}" if decided else NONE


def _model(model: Json) -> list[Block]:
    blocks: list[Block] = [
        Heading(f"{model['meter']}, {model['period']} period"),
        Prose(f"Daily kWh = {model['form']}"),
        grid(
            "Coefficients, kWh a day per unit of the term",
            [
                ("term", "left", 3.4),
                ("coefficient", "right", 1),
                ("standard error", "right", 1),
                ("t", "right", 0.7),
            ],
            [
                (
                    str(term["name"]),
                    significant(term["coefficient"]),
                    significant(term["standard_error"], 3),
                    fixed(term.get("t"), 1),
                )
                for term in rows(model, "terms")
            ],
        ),
        grid(
            "Limits it was held to",
            [
                ("test", "left", 2.4),
                ("value", "right", 0.8),
                ("limit", "right", 0.8),
                ("met", "left", 0.6),
                ("source of the limit", "left", 3),
            ],
            [
                (
                    str(test["name"]),
                    _shown(test.get("value")),
                    _shown(test.get("limit")),
                    _met(test),
                    str(test.get("source") or NONE),
                )
                for test in rows(model, "tests")
            ],
        ),
    ]
    findings = tuple(str(text) for text in model.get("findings") or [])
    tried = rows(model, "alternatives")
    if tried:
        better = min((entry.get("cross_validated_cv_rmse") or 9e9 for entry in tried), default=None)
        words = wording.counted(len(tried), "form was", "forms were")
        blocks.append(
            Prose(
                f"{words} tried; smallest error on days left out: {share(better)}. All are in result.json.",
                "note",
            )
        )
    return [*blocks, Listing(findings)] if findings else blocks


def _met(test: Json) -> str:
    passed = test.get("passed")
    return "shown only" if passed is None else "yes" if passed else "no"


def _shown(value: object) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return "0.000" if abs(value) < 1e-6 else significant(float(value), 3)
    return NONE if value is None else str(value)

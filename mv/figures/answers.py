"""The three questions a client asks, answered from the result in plain words.

Words such as "guaranteed" or "certified" are never used of a modelled number.
"""

from dataclasses import dataclass
from typing import Any

from mv.figures import wording
from mv.figures.drift_words import changes_of, costliest_first, drift_sentence, gaps_of
from mv.figures.result_parts import Result, estimate, part, rows, why_not

CANNOT_TELL = "Cannot tell"
NOTHING_TO_GO_BY = "The study names no agreed settings, and the data show no change since hand-over."
NOT_TOLD_FROM_NONE = "Not enough to tell it from none"


@dataclass(frozen=True, slots=True)
class PlainAnswer:
    """One question, the short answer, and the sentences that carry its numbers."""

    question: str
    short: str
    sentences: tuple[str, ...]


def three_answers(result: Result) -> tuple[PlainAnswer, PlainAnswer, PlainAnswer]:
    """Did it save what was promised? How sure is that? Is it lasting?"""
    return promise_answer(result), certainty_answer(result), lasting_answer(result)


def promise_answer(result: Result) -> PlainAnswer:
    """Compares the verified yearly saving with the promise, by its interval."""
    question = "Did it save what was promised?"
    verified = estimate(result, "savings", "normalised_annual_kwh")
    promised = part(result, "predicted", "annual_kwh")
    if verified is None:
        return PlainAnswer(
            question, CANNOT_TELL, (_reason(result, "normalised", "annual"), *_avoided(result))
        )
    reaches_zero = _low(verified) <= 0 <= _high(verified)
    amount = (
        f"{'The best estimate is' if reaches_zero else 'It saves'} {wording.amount(verified, 'kWh')} a year"
    )
    if _high(verified) < 0:
        amount = f"It uses {wording.number(-verified['estimate'])} kWh a year more"
    if promised is None:
        return PlainAnswer(
            question, _unpromised_short(verified), (f"{amount}. The study holds no promise to compare with.",)
        )
    rate = wording.share(_over(verified, promised)) if promised else "no share"
    asked = wording.beside(promised, verified, "kWh")
    numbers = f"{amount}; {asked} were promised. That is {rate} of the promise."
    return PlainAnswer(
        question, _promise_short(verified, promised), (numbers, _promise_detail(verified, promised))
    )


def _over(verified: Any, promised: float) -> dict[str, Any]:
    """The realisation rate, with the interval that says how many of its digits hold."""
    ends = ("estimate", "low", "high")
    return {end: None if verified.get(end) is None else verified[end] / promised for end in ends}


def _unpromised_short(verified: Any) -> str:
    if _high(verified) < 0:
        return "No: it uses more than before"
    return "It saves energy" if _low(verified) > 0 else CANNOT_TELL


def _promise_short(verified: Any, promised: float) -> str:
    low, high = _low(verified), _high(verified)
    if high <= 0:
        return "No: it uses more than before"
    if low > promised:
        return "Yes, and more"
    if high < promised:
        return "Less than promised" if low > 0 else "No saving can be told from none"
    return "In line with the promise" if low > 0 else CANNOT_TELL


def _promise_detail(verified: Any, promised: float) -> str:
    low, high = _low(verified), _high(verified)
    if low <= 0 <= high:
        return "The interval reaches from using more to saving: the data do not tell them apart."
    if low > promised:
        return "The whole interval lies above the promise."
    if high < promised:
        return "The whole interval lies below the promise."
    return "The promise lies within the interval: the data do not tell the two apart."


def certainty_answer(result: Result) -> PlainAnswer:
    """The interval in words, and the acceptance tests that were not met."""
    question = "How sure is that?"
    verified = estimate(result, "savings", "normalised_annual_kwh")
    unit, subject = "kWh", "the yearly saving"
    if verified is None:
        verified, subject = estimate(result, "savings", "avoided_kwh"), "the energy avoided so far"
    if verified is None or wording.half_width(verified) is None:
        return PlainAnswer(question, CANNOT_TELL, (_reason(result, "saving", "avoided", "interval"),))
    width, size = wording.half_width(verified) or 0.0, abs(verified["estimate"])
    sure = wording.per_cent(verified["confidence"])
    ends = wording.between(verified, unit, joint="and")
    interval = f"We are {sure} confident that {subject} lies between {ends}."
    told_from_none = _low(verified) > 0 or _high(verified) < 0
    short = f"Give or take {wording.per_cent(width / size)}" if told_from_none else NOT_TOLD_FROM_NONE
    return PlainAnswer(question, short, (interval, _tests_sentence(result)))


def _tests_sentence(result: Result) -> str:
    """The limits that decide come first; the others are told as what they are."""
    deciding = rows(result, "acceptance", "tests")
    every = [test for model in rows(result, "models") for test in model.get("tests") or []]
    shown = [test for test in every if test.get("passed") is not None]  # the others were not judged
    sentences = [_judged(deciding, "limit that decides")] if deciding else []
    if shown:
        sentences.append(_judged(shown, "further limit of the models" if deciding else "limit of the models"))
    return " ".join(sentences) or "No acceptance test is in the result."


def _judged(tests: list[Any], noun: str) -> str:
    failed = [test for test in tests if test.get("passed") is False]
    plural = noun.replace("limit", "limits").replace("decides", "decide")
    if not failed:
        if len(tests) == 1:
            return f"The one {noun} is met."
        return f"All {len(tests)} {plural} are met."
    names = wording.listed(sorted({str(test["name"]).split(" (")[0] for test in failed}))
    if len(tests) == 1:
        return f"The one {noun} is not met: {names}."
    return f"Of {wording.counted(len(tests), noun, plural)}, {len(failed)} not met: {names}."


def lasting_answer(result: Result) -> PlainAnswer:
    """What is known of the agreed settings and of drift since hand-over."""
    question = "Is it lasting?"
    settings, drift = rows(result, "settings"), rows(result, "drift")
    changes, gaps = changes_of(drift), gaps_of(drift)
    moved = [row for row in settings if row.get("verdict") == "moved"]
    unknown = [row for row in settings if row.get("verdict") == "cannot tell"]
    if not settings and not drift:
        told = why_not(result, "setting", "drift") or NOTHING_TO_GO_BY
        return PlainAnswer(question, CANNOT_TELL, (told,))
    sentences = [
        _settings_sentence(settings, moved, unknown),
        *_drift_sentences(changes),
        *_gaps_sentence(gaps),
    ]
    if not moved and not changes:
        kept = len(settings) - len(unknown)
        return PlainAnswer(question, "Yes, as far as it shows" if kept else CANNOT_TELL, tuple(sentences))
    count = max(len(moved), len(changes))
    return PlainAnswer(question, f"Not all of it: {wording.counted(count, 'change')}", tuple(sentences))


def _settings_sentence(settings: list[Any], moved: list[Any], unknown: list[Any]) -> str:
    if not settings:
        return "The study names no agreed settings."
    kept = len(settings) - len(moved) - len(unknown)
    text = f"Of {wording.counted(len(settings), 'agreed setting')}, {kept} kept"
    text += f", {len(moved)} moved" if moved else ""
    return text + (f", {len(unknown)} cannot be told." if unknown else ".")


def _drift_sentences(drift: list[Any]) -> list[str]:
    """One sentence a change, the costliest first, three at most."""
    lines = [drift_sentence(row) for row in costliest_first(drift)[:3]]
    if len(drift) > 3:
        lines.append(f"And {wording.counted(len(drift) - 3, 'further change')}.")
    return lines


def _gaps_sentence(gaps: list[Any]) -> list[str]:
    """Readings that are missing are told apart: they are no change of the lighting."""
    if not gaps:
        return []
    places = wording.listed(sorted({str(row.get("where")) for row in gaps}))
    told = wording.counted(len(gaps), "stretch", "stretches")
    return [f"Nothing is known of {told} without readings ({places})."]


def _avoided(result: Result) -> tuple[str, ...]:
    avoided = estimate(result, "savings", "avoided_kwh")
    if avoided is None:
        return ()
    return (f"Avoided in the reporting period: {wording.with_interval(avoided, 'kWh')}.",)


def _reason(result: Result, *fragments: str) -> str:
    return why_not(result, *fragments) or "The result gives no such number and no reason."


def _low(verified: Any) -> float:
    return float(verified["estimate"] if verified.get("low") is None else verified["low"])


def _high(verified: Any) -> float:
    return float(verified["estimate"] if verified.get("high") is None else verified["high"])

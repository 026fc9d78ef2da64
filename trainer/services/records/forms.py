"""The forms of supervised work: what they ask for, and everything that is wrong in one.

They hold a supervisor's word on real or watched work, apart from every simulated score. Form and
domains are own working forms (no validated dental form was found); local rules may ask for more.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from trainer.errors import Fault
from trainer.models.records import Observation, SupervisedCase

SUPERVISION_WORDS = {
    1: "watched only",
    2: "helped with hands",
    3: "helped with words",
    4: "supervisor in the room",
    5: "supervisor on call",
}
REGIONS = (
    "single site upper",
    "single site lower",
    "whole jaw or both jaws",
    "joint",
    "sinus",
    "other",
)
PATIENT_GROUPS = ("adult", "child", "older", "limited mobility")
POSITIONED_BY = ("trainee", "trainee with help", "supervisor")
GRADES = {"A": "acceptable", "N": "not acceptable"}
DOMAINS = (
    "understands the request",
    "identity and safety questions",
    "explains and gains cooperation",
    "prepares patient and room",
    "aligns and stabilises",
    "uses the scout",
    "exposes and watches",
    "judges the image",
    "records and cleans",
    "professionalism",
)
SETTINGS = ("real procedure", "simulation")
RATINGS = range(1, 6)  # 1 well below … 5 well above what is expected
LONGEST_TEXT = 500
LONGEST_CASE_NUMBER = 20
LONGEST_COUNT = 99
EARLIEST = date(2000, 1, 1)  # own working value: a year typed wrongly is found


def supervised_faults(case: SupervisedCase) -> tuple[Fault, ...]:
    """Everything missing or wrong in a supervised case; ``key`` is the field."""
    return tuple(_of("supervised case", _supervised(case)))


def observation_faults(observation: Observation) -> tuple[Fault, ...]:
    """Everything missing or wrong in an observation; ``key`` is the field."""
    return tuple(_of("observation", _observation(observation)))


Said = Iterator[tuple[str, str]]


def _of(form: str, said: Said) -> Iterator[Fault]:
    return (Fault(form, 0, key, text) for key, text in said)


def _supervised(case: SupervisedCase) -> Said:
    yield from _date(case.on)
    for key in ("supervisor", "field_class", "done_well", "aim"):
        yield from _text(key, getattr(case, key))
    yield from _one_of("region", case.region, REGIONS)
    yield from _one_of("patient_group", case.patient_group, PATIENT_GROUPS)
    yield from _one_of("positioned_by", case.positioned_by, POSITIONED_BY)
    for key in ("prompts", "scouts", "exposures"):
        if not 0 <= getattr(case, key) <= LONGEST_COUNT:
            yield key, f"must be 0 to {LONGEST_COUNT}, got {getattr(case, key)}"
    yield from _one_of("grade", case.grade, tuple(GRADES))
    if case.grade == "N":
        yield from _text("cause", case.cause)
    elif case.cause:
        yield "cause", "is for images that are not acceptable; leave it empty"
    yield from _supervision(case.supervision)
    number = case.case_number
    if len(number) > LONGEST_CASE_NUMBER or (number and not any(map(str.isdigit, number))):
        yield (
            "case_number",
            f"must be a number of your practice, at most {LONGEST_CASE_NUMBER} characters and "
            "never a patient's name, or empty",
        )


def _observation(observation: Observation) -> Said:
    yield from _date(observation.on)
    for key in ("observer", "done_well", "aim"):
        yield from _text(key, getattr(observation, key))
    yield from _one_of("setting", observation.setting, SETTINGS)
    if not observation.ratings:
        yield "ratings", "at least one domain must be rated"
    for domain, rating in observation.ratings.items():
        yield from _one_of("ratings", domain, DOMAINS)
        if rating not in RATINGS:
            yield "ratings", f"{domain} must be 1 to 5, got {rating}"
    if observation.overall not in RATINGS:
        yield "overall", f"must be 1 to 5, got {observation.overall}"
    yield from _supervision(observation.supervision)


def _date(on: date) -> Said:
    if on < EARLIEST:
        yield "on", f"must be a day from {EARLIEST} on, got {on}"


def _text(key: str, text: str) -> Said:
    if not text.strip():
        yield key, "must not be empty"
    elif len(text) > LONGEST_TEXT:
        yield key, f"must be at most {LONGEST_TEXT} characters"


def _one_of(key: str, found: str, known: tuple[str, ...]) -> Said:
    if found not in known:
        yield key, f"must be one of {', '.join(known)}; got {found!r}"


def _supervision(level: int) -> Said:
    if level not in SUPERVISION_WORDS:
        yield "supervision", f"must be 1 to {max(SUPERVISION_WORDS)}, got {level}"

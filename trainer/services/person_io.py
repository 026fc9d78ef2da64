"""A person as plain data: in case files, on the command line, in reports.

Sizes are told in standard deviations from the mean of sex and age, so their keys end in ``_sd``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from enum import StrEnum
from typing import Any

from trainer.errors import Fault, NotValid, TrainerError
from trainer.models.subject import (
    PLAIN_ADULT_AGE,
    Jaw,
    Mouth,
    Person,
    Posture,
    Profile,
    Repair,
    Repaired,
    Sex,
    Sizes,
    Worn,
)
from trainer.services.file_check import near_hint

GROUPS = ("sizes", "mouth", "posture")
SIZE_KEYS = {f"{field.name}_sd": field.name for field in fields(Sizes)}
POSTURE_KEYS = {
    "shoulder_breadth_sd": "shoulder_breadth",
    "neck_length_sd": "neck_length",
    "kyphosis_deg": "kyphosis_deg",
}
PROFILE_WORDS = {
    Profile.CLASS_I: "Class I",
    Profile.CLASS_II: "Class II",
    Profile.CLASS_III: "Class III",
}
# What `--person` takes, with an example of each.
EXAMPLES: dict[str, str] = {
    "sex": "female",
    "age_years": "9",
    "profile": "class-2",
    **dict.fromkeys(SIZE_KEYS, "1.6"),
    "missing": "36,46",
    "repairs": "16:amalgam-filling,26:gold-crown",
    "lost_ridge_upper": "0.5",
    "lost_ridge_lower": "0.5",
    "brackets": "upper,lower",
    "dentures": "upper",
    "shoulder_breadth_sd": "2",
    "neck_length_sd": "-2",
    "kyphosis_deg": "30",
    "worn": "earrings,spectacles",
}


def person_of(data: Mapping[str, Any]) -> Person:
    """The person of a case file's ``subject``; other keys of it are passed over.

    Raises
    ------
    TrainerError
        If a value cannot be had; the schema of case files finds most of them earlier.
    """
    sizes, mouth, posture = (data.get(group, {}) for group in GROUPS)
    return Person(
        sex=Sex(data["sex"]),
        age_years=int(data.get("age_years", PLAIN_ADULT_AGE)),
        sizes=Sizes(**{SIZE_KEYS[key]: float(value) for key, value in sizes.items()}),
        profile=Profile(data.get("profile", Profile.CLASS_I)),
        mouth=Mouth(
            missing=tuple(sorted(int(fdi) for fdi in mouth.get("missing", ()))),
            repairs=_repairs(mouth.get("repairs", ())),
            lost_ridge_upper=float(mouth.get("lost_ridge_upper", 0.0)),
            lost_ridge_lower=float(mouth.get("lost_ridge_lower", 0.0)),
            brackets=tuple(sorted(map(Jaw, mouth.get("brackets", ())))),
            dentures=tuple(sorted(map(Jaw, mouth.get("dentures", ())))),
        ),
        posture=Posture(**{POSTURE_KEYS[key]: float(value) for key, value in posture.items()}),
        worn=tuple(sorted(map(Worn, data.get("worn", ())))),
    )


def _repairs(entries: Iterable[Mapping[str, Any]]) -> tuple[Repaired, ...]:
    found = [Repaired(int(entry["tooth"]), Repair(entry["repair"])) for entry in entries]
    return tuple(sorted(found, key=lambda r: (r.fdi, r.repair)))


def person_data(person: Person) -> dict[str, Any]:
    """What `person_of` reads: sex, age, and what differs from a mean head with all teeth sound."""
    plain = Person(person.sex)
    found: dict[str, Any] = {"sex": str(person.sex), "age_years": person.age_years}
    if person.profile is not plain.profile:
        found["profile"] = str(person.profile)
    sizes = {key: getattr(person.sizes, name) for key, name in SIZE_KEYS.items()}
    mouth: dict[str, Any] = {
        "missing": list(person.mouth.missing),
        "repairs": [{"tooth": r.fdi, "repair": str(r.repair)} for r in person.mouth.repairs],
        "lost_ridge_upper": person.mouth.lost_ridge_upper,
        "lost_ridge_lower": person.mouth.lost_ridge_lower,
        "brackets": [str(jaw) for jaw in person.mouth.brackets],
        "dentures": [str(jaw) for jaw in person.mouth.dentures],
    }
    posture = {key: getattr(person.posture, name) for key, name in POSTURE_KEYS.items()}
    for group, values in zip(GROUPS, (sizes, mouth, posture), strict=True):
        if set_values := {key: value for key, value in values.items() if value}:
            found[group] = set_values
    if person.worn:
        found["worn"] = [str(worn) for worn in person.worn]
    return found


def person_from_words(words: Iterable[str], draw_seed: int | None = None) -> Person:
    """The mean man with ``key=value`` words laid over him; `EXAMPLES` has the keys.

    With ``draw_seed`` the sizes that no word sets are drawn for the person's sex and age.

    Raises
    ------
    NotValid
        With every word that is no setting of a person.
    """
    faults: list[Fault] = []
    data: dict[str, Any] = {"sex": str(Sex.MALE)} | {group: {} for group in GROUPS}
    for word in words:
        key, equals, text = word.partition("=")
        try:
            if not equals:
                raise ValueError(f"must be key=value, got {word!r}")
            if key not in READERS:
                hint = near_hint(key, READERS) or f"; there are {', '.join(READERS)}"
                raise ValueError(f"unknown setting of a person {key!r}{hint}")
            value = READERS[key](text)
        except ValueError as error:
            faults.append(Fault(f"--person {word}", 0, key, str(error)))
            continue
        group = data.get(GROUP_OF.get(key, ""), data)
        before = dict(group)
        group[key] = value
        try:
            person_of(data)
        except TrainerError as error:
            # the sentence names the key itself; the value must not spoil the next words
            faults.append(Fault(f"--person {word}", 0, "", str(error)))
            group.clear()
            group.update(before)
    if faults:
        raise NotValid(faults)
    # not above: case files are checked through this module, and that is to start quickly
    from trainer.anatomy.people.people import draw_person
    from trainer.anatomy.things.mouth_faults import mouth_faults

    person = person_of(data)
    if draw_seed is not None:
        drawn = person_data(draw_person(draw_seed, person.sex, person.age_years))
        person = person_of(data | {"sizes": drawn.get("sizes", {}) | data["sizes"]})
    if sentences := mouth_faults(person):
        raise NotValid([Fault("--person", 0, "mouth", sentence) for sentence in sentences])
    return person


def person_text(person: Person) -> str:
    """The person in a line: ``woman of 40, class-2, head_length_sd 1.5, without 36``."""
    word = {Sex.MALE: ("boy", "man"), Sex.FEMALE: ("girl", "woman")}[person.sex][person.adult]
    parts = [f"{word} of {person.age_years}"]
    data = person_data(person)
    if "profile" in data:
        parts.append(PROFILE_WORDS[person.profile])
    for group in ("sizes", "posture"):
        parts += [f"{key} {value:+g}" for key, value in data.get(group, {}).items()]
    mouth = data.get("mouth", {})
    if missing := mouth.get("missing"):
        parts.append("without " + ", ".join(map(str, missing)))
    parts += [f"{r['tooth']} {r['repair'].replace('-', ' ')}" for r in mouth.get("repairs", ())]
    parts += [
        f"{key} {mouth[key]:g}" for key in ("lost_ridge_upper", "lost_ridge_lower") if key in mouth
    ]
    parts += [f"{jaw} brackets" for jaw in mouth.get("brackets", ())]
    parts += [f"{jaw} denture" for jaw in mouth.get("dentures", ())]
    parts += [worn.replace("-", " ") for worn in data.get("worn", ())]
    return ", ".join(parts)


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"must be a number, got {text!r}") from None
    if not math.isfinite(value):
        raise ValueError(f"must be a finite number, got {text!r}")
    return value


def _whole(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise ValueError(f"must be a whole number, got {text!r}") from None


def _one_of(choices: type[StrEnum]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in tuple(choices):
            hint = near_hint(text, map(str, choices))
            raise ValueError(f"must be one of {', '.join(choices)}; got {text!r}{hint}")
        return text

    return read


def _list_of(read: Callable[[str], Any]) -> Callable[[str], list[Any]]:
    return lambda text: [read(part.strip()) for part in text.split(",") if part.strip()]


def _repair(text: str) -> dict[str, Any]:
    tooth, colon, repair = text.partition(":")
    if not colon:
        raise ValueError(f"must be tooth:repair, got {text!r}")
    return {"tooth": _whole(tooth), "repair": _one_of(Repair)(repair)}


READERS: dict[str, Callable[[str], Any]] = {
    "sex": _one_of(Sex),
    "age_years": _whole,
    "profile": _one_of(Profile),
    **dict.fromkeys(SIZE_KEYS, _number),
    "missing": _list_of(_whole),
    "repairs": _list_of(_repair),
    "lost_ridge_upper": _number,
    "lost_ridge_lower": _number,
    "brackets": _list_of(_one_of(Jaw)),
    "dentures": _list_of(_one_of(Jaw)),
    **dict.fromkeys(POSTURE_KEYS, _number),
    "worn": _list_of(_one_of(Worn)),
}
MOUTH_KEYS = ("missing", "repairs", "lost_ridge_upper", "lost_ridge_lower", "brackets", "dentures")
GROUP_OF = (
    dict.fromkeys(SIZE_KEYS, "sizes")
    | dict.fromkeys(MOUTH_KEYS, "mouth")
    | dict.fromkeys(POSTURE_KEYS, "posture")
)

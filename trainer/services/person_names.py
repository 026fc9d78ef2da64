"""Which of the known structures a person has: teeth differ from mouth to mouth, bones do not."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from trainer.models.subject import Mouth, Person, Repair

OF_A_TOOTH = re.compile(r"(tooth|canal-at)-([1-8][1-8])(-.+)?")
BEHIND_THE_LAST = ("retromolar-left", "retromolar-right")
PERMANENT = tuple(quadrant * 10 + n for quadrant in (1, 2, 3, 4) for n in range(1, 9))


def missing_teeth_among(person: Person, structure_id: str) -> str:
    """Why the person lacks the structure, in words; empty if it is there.

    Only structures of teeth can lack: the tooth may be gone, of another age, or have no root yet.
    The bone behind the lower third molars has a name only where the left one stands.
    """
    if structure_id in BEHIND_THE_LAST:
        there = 38 in _teeth(person) and _teeth(person)[38].erupted
        return "" if there else "it has a name only behind a third molar, and there is no 38"
    found = OF_A_TOOTH.fullmatch(structure_id)
    if found is None:
        return ""
    kind, fdi, part = found[1], int(found[2]), found[3] or ""
    tooth = _teeth(person).get(fdi)
    if tooth is not None:
        needs_root = kind == "canal-at" or part.startswith("-apex")
        lacks = needs_root and not tooth.has_root
        return f"the root of {fdi} is not formed yet" if lacks else ""
    if any(r.fdi == fdi and r.repair is Repair.IMPLANT for r in person.mouth.repairs):
        return f"an implant stands in place of {fdi}"
    if fdi in person.mouth.missing:
        return f"this person has lost {fdi}"
    return f"a person of {person.age_years} years has no tooth {fdi}"


class _Known(NamedTuple):
    """What of a tooth decides which structures it has."""

    has_root: bool
    erupted: bool


def _teeth(person: Person) -> dict[int, _Known]:
    """The person's teeth, unerupted ones too."""
    gone = {r.fdi for r in person.mouth.repairs if r.repair is Repair.IMPLANT}
    gone |= set(person.mouth.missing)
    # an adult's need not be shaped to be known
    every = dict.fromkeys(PERMANENT, _Known(True, True)) if person.adult else _of_child(person)
    return {fdi: known for fdi, known in every.items() if fdi not in gone}


@lru_cache(maxsize=8)
def _of_child(person: Person) -> dict[int, _Known]:
    from trainer.anatomy.teeth.dentition import whole_dentition

    return {t.fdi: _Known(bool(t.roots), t.erupted) for t in whole_dentition(person)}


def mouth_contradictions(person: Person) -> list[str]:
    """What does not go together in the person's mouth, in sentences; empty when all does."""
    if person.mouth == Mouth():
        return []
    from trainer.anatomy.things.mouth_faults import mouth_faults

    return mouth_faults(person)

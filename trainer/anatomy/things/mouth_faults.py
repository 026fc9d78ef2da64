"""What does not go together in a mouth, in sentences for whoever wrote it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from trainer.anatomy.teeth.tooth_tables import is_primary
from trainer.anatomy.things.brackets import bonded_teeth
from trainer.anatomy.things.dentures import LAST_REPLACED, replaced_teeth
from trainer.anatomy.things.on_tooth import full_teeth_of, jaw_of, teeth_of
from trainer.anatomy.things.repairs import WORDS
from trainer.models.subject import Jaw, Person, Repair

# These share the crown: one tooth has at most one of them. A root filling goes with each.
ON_CROWN = frozenset(Repair) - {Repair.ROOT_FILLING, Repair.IMPLANT}


def mouth_faults(person: Person) -> list[str]:
    """Every contradiction in the person's mouth as a sentence; empty when it can be built.

    Whether bone has room for an implant is found only when it is placed.
    """
    return [*_of_missing(person), *_of_repairs(person), *_of_jaws(person)]


def _of_missing(person: Person) -> Iterator[str]:
    known = full_teeth_of(person)
    for fdi in person.mouth.missing:
        if fdi not in known:
            yield f"missing: {_unknown(person, fdi)}"


def _unknown(person: Person, fdi: int) -> str:
    return f"no mouth of {person.age_years} years has a tooth {fdi}"


def _of_repairs(person: Person) -> Iterator[str]:
    known, standing, missing = full_teeth_of(person), teeth_of(person), person.mouth.missing
    for (fdi, repair), count in Counter(
        (r.fdi, r.repair) for r in person.mouth.repairs
    ).items():  # fmt: skip
        words = f"{WORDS[repair]} of tooth {fdi}"
        if count > 1:
            yield f"{words}: given {count} times, once is enough"
        if fdi not in known:
            yield f"{words}: {_unknown(person, fdi)}"
        elif repair is Repair.IMPLANT:
            if fdi not in missing:
                yield f"{words}: the tooth is there; name it as missing first"
            if is_primary(fdi) or not person.adult:
                yield f"{words}: implants are for permanent teeth of adults, whose jaws have grown"
        elif fdi in missing:
            yield f"{words}: the tooth is missing"
        elif not known[fdi].erupted:
            yield f"{words}: the tooth has not come through yet"
        elif repair is Repair.ROOT_FILLING and known[fdi].root_share < 1.0:
            yield f"{words}: its roots are still growing"
        elif repair is Repair.ROOT_FILLING and known[fdi].resorbed:
            yield f"{words}: its roots are being dissolved by the tooth that follows"
    for fdi in sorted(standing):
        kinds = [r.repair for r in person.mouth.repairs if r.fdi == fdi and r.repair in ON_CROWN]
        if len(set(kinds)) > 1:
            words = " and ".join(WORDS[k] for k in dict.fromkeys(kinds))
            yield f"tooth {fdi}: {words} exclude each other"


def _of_jaws(person: Person) -> Iterator[str]:
    mouth = person.mouth
    for jaw in Jaw:
        if mouth.brackets.count(jaw) > 1 or mouth.dentures.count(jaw) > 1:
            yield f"{jaw} jaw: an appliance is given twice, once is enough"
        if jaw in mouth.brackets and not bonded_teeth(person, jaw):
            yield f"brackets in the {jaw} jaw: no permanent tooth to bond them to"
        if jaw in mouth.dentures and not replaced_teeth(person, jaw):
            yield (
                f"denture in the {jaw} jaw: no tooth from the middle to place {LAST_REPLACED} "
                f"is missing that has no implant"
            )
        if jaw in mouth.brackets and jaw in mouth.dentures:
            yield f"{jaw} jaw: brackets and a denture are not worn together"
        lost = mouth.lost_ridge_upper if jaw is Jaw.UPPER else mouth.lost_ridge_lower
        if lost > 0.0 and not any(jaw_of(f) is jaw for f in mouth.missing):
            yield f"lost ridge in the {jaw} jaw: bone is lost only where teeth are missing"

"""What does not go together in a mouth is said in sentences."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.anatomy.carried import PEOPLE
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.anatomy.things.mouth_faults import mouth_faults
from trainer.models.subject import Jaw, Mouth, Person, Repair, Repaired, Sex

UPPER_TEETH = tuple(f for f in ALL_TEETH if f < 30)


def _repair(fdi: int, repair: Repair, missing: tuple[int, ...] = ()) -> Mouth:
    return Mouth(missing, (Repaired(fdi, repair),))


@pytest.mark.parametrize("kind", PEOPLE)
def test_sound_mouths_have_no_fault(kind: str) -> None:
    """Mouths that can be built have no fault."""
    assert mouth_faults(PEOPLE[kind]) == []


@pytest.mark.parametrize(
    ("age", "mouth", "words"),
    [
        (40, Mouth((55,)), "missing: no mouth of 40 years has a tooth 55"),
        (40, _repair(19, Repair.GOLD_CROWN), "gold crown of tooth 19: no mouth of 40 years"),
        (40, _repair(36, Repair.GOLD_CROWN, (36,)), "gold crown of tooth 36: the tooth is missing"),
        (40, _repair(36, Repair.IMPLANT), "implant of tooth 36: the tooth is there"),
        (12, _repair(36, Repair.IMPLANT, (36,)), "implants are for permanent teeth of adults"),
        (8, _repair(37, Repair.AMALGAM_FILLING), "filling of tooth 37: the tooth has not come"),
        (7, _repair(36, Repair.ROOT_FILLING), "root filling of tooth 36: its roots are still"),
        (40, Mouth(brackets=(Jaw.UPPER,), missing=UPPER_TEETH), "brackets in the upper jaw: no"),
        (40, Mouth(dentures=(Jaw.LOWER,)), "denture in the lower jaw: no tooth"),
        (40, Mouth((38,), dentures=(Jaw.LOWER,)), "denture in the lower jaw: no tooth"),
        (40, Mouth((36,), brackets=(Jaw.LOWER,), dentures=(Jaw.LOWER,)), "not worn together"),
        (40, Mouth((36,), lost_ridge_upper=0.5), "lost ridge in the upper jaw: bone is lost only"),
        (40, Mouth(brackets=(Jaw.UPPER, Jaw.UPPER)), "upper jaw: an appliance is given twice"),
        (40, Mouth(repairs=(Repaired(16, Repair.GOLD_CROWN),) * 2), "given 2 times"),
        (
            40,
            Mouth(repairs=(Repaired(16, Repair.GOLD_CROWN), Repaired(16, Repair.AMALGAM_FILLING))),
            "tooth 16: gold crown and amalgam filling exclude each other",
        ),
    ],
)
def test_each_fault_is_one_sentence(age: int, mouth: Mouth, words: str) -> None:
    """Each contradiction alone gives exactly one sentence, which names it."""
    (fault,) = mouth_faults(Person(Sex.MALE, age, mouth=mouth))
    assert words in fault


def test_all_faults_are_found_at_once() -> None:
    """Several contradictions give as many sentences."""
    mouth = Mouth((36,), (Repaired(36, Repair.GOLD_CROWN), Repaired(46, Repair.IMPLANT)),
                  dentures=(Jaw.UPPER,))  # fmt: skip
    assert len(mouth_faults(Person(mouth=mouth))) == 3


@settings(max_examples=60)
@given(
    st.sets(st.sampled_from(ALL_TEETH), max_size=6),
    st.dictionaries(st.sampled_from(ALL_TEETH), st.sampled_from(list(Repair)), max_size=6),
)
def test_repairs_go_with_teeth_as_told(missing: set[int], repairs: dict[int, Repair]) -> None:
    """In an adult, just the repairs of missing teeth and implants in standing ones are faults."""
    mouth = Mouth(tuple(sorted(missing)), tuple(Repaired(f, r) for f, r in repairs.items()))
    wrong = [f for f, r in repairs.items() if (f in missing) != (r is Repair.IMPLANT)]
    faults = mouth_faults(Person(mouth=mouth))
    assert len(faults) == len(wrong)
    assert all(any(f"tooth {f}:" in fault for fault in faults) for f in wrong)

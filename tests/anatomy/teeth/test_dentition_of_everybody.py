"""Teeth, bone and canal of any person that can be asked for."""

from __future__ import annotations

import pytest
from helpers.mouths import barest_mm, deepest_overlap_mm
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import people, sizes

from trainer.anatomy.bones.alveolus import alveolar_process
from trainer.anatomy.bones.canal import canal_path
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.teeth.dentition import teeth_of
from trainer.models.frames import Side
from trainer.models.subject import Jaw, Person, Profile, Sex, Sizes

P5_TO_P95 = st.floats(-1.645, 1.645)
CHILDREN = st.builds(
    Person,
    st.sampled_from(Sex),
    st.integers(6, 17),
    st.builds(Sizes, **dict.fromkeys(Sizes.__slots__, P5_TO_P95)),
    st.sampled_from(Profile),
)
ADULTS = people(st.integers(18, 90))


@pytest.mark.slow
@settings(max_examples=50)
@given(people(with_gaps=False))
def test_teeth_keep_apart_in_everybody(person: Person) -> None:
    """In no person does a tooth enter another by more than 0.1 mm, germs and roots included."""
    depth, *which = deepest_overlap_mm(person)
    assert depth < 0.1, which


@pytest.mark.slow
@settings(max_examples=40)
@given(ADULTS | CHILDREN)
def test_roots_and_germs_lie_in_bone_in_everybody(person: Person) -> None:
    """In any adult, and any child from p5 to p95, germs and roots (from 3 mm below the neck) come
    out of the bone nowhere by 0.1 mm."""
    upper = alveolar_process(person, Jaw.UPPER)
    for bone, jaw in [(upper, Jaw.UPPER), (mandible(person), Jaw.LOWER)]:
        depth, which = barest_mm(bone, list(teeth_of(person, jaw)))
        assert depth < 0.1, which


@pytest.mark.slow
@settings(max_examples=15)
@given(sizes())
def test_no_root_enters_the_canal_in_adults(sizes: Sizes) -> None:
    """Whatever an adult's sizes, no root or crown reaches into the mandibular canal."""
    for sex in Sex:
        person = Person(sex, sizes=sizes)
        path = canal_path(person, Side.LEFT)
        for tooth in teeth_of(person, Jaw.LOWER):
            assert tooth.solid(path).min() > 1.35, tooth.fdi


@pytest.mark.slow
@settings(max_examples=15)
@given(CHILDREN)
def test_no_germ_enters_the_canal_in_children(child: Person) -> None:
    """In children from the 5th to the 95th percentile no tooth or germ reaches into the canal."""
    path = canal_path(child, Side.LEFT)
    for tooth in teeth_of(child, Jaw.LOWER):
        assert tooth.solid(path).min() > 1.35, tooth.fdi


@pytest.mark.xfail(
    strict=True,
    reason="a jaw of -2.5 SD under a face of +1.9 SD, Class II: the front of the body is narrower "
    "than the teeth it has to hold, and foramen and canal meet the canine's germ",
)
def test_canal_and_germs_in_the_smallest_jaw() -> None:
    """Even in the smallest jaw of a six-year-old no germ reaches into the canal."""
    child = Person(
        Sex.FEMALE, 6, Sizes(jaw_length=-2.5, face_height=1.9, tooth_size=-0.5), Profile.CLASS_II
    )
    path = canal_path(child, Side.LEFT)
    for tooth in teeth_of(child, Jaw.LOWER):
        assert tooth.solid(path).min() > 1.35, tooth.fdi

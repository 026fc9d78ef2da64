"""Supervised work counted beside a proposal."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from helpers.records import NOW, TODAY, observation_of, supervised_of

from trainer.models.records import Learner
from trainer.services.learning.supervised_count import (
    OBSERVATIONS,
    REGIONS_WANTED,
    SOURCE,
    count_text,
    supervised_count,
)

HERON = Learner("heron", "Heron 12", "", "spring", False, NOW)


def cases(*regions: str, **values: object):
    """A supervised case of each region."""
    return [supervised_of(HERON, region=region, **values) for region in regions]


def done(counts) -> dict[str, int]:
    """How many of everything."""
    return {count.what: count.done for count in counts}


def test_every_case_counts_in_its_region() -> None:
    """Cases are counted as a whole and by region; joint and sinus stand for each other."""
    made = cases("single site upper", "joint", "sinus", "sinus", "other")
    assert done(supervised_count(made, ()).cases) == {
        "cases": 5,
        "single site upper": 1,
        "single site lower": 0,
        "whole jaw or both jaws": 0,
        "joint or sinus": 3,
        "child or limited mobility": 0,
    }


def test_what_the_supervisor_positioned_does_not_count() -> None:
    """Only cases that the learner positioned are the learner's, with help or without."""
    made = [
        supervised_of(HERON, positioned_by=who)
        for who in ("trainee", "trainee with help", "supervisor")
    ]
    assert done(supervised_count(made, ()).cases)["cases"] == 2


def test_who_is_hard_to_keep_still_counts() -> None:
    """Children and people of limited mobility are counted together, others are not."""
    made = [
        supervised_of(HERON, patient_group=group)
        for group in ("adult", "child", "older", "limited mobility")
    ]
    assert done(supervised_count(made, ()).cases)["child or limited mobility"] == 2


def test_observations_of_simulations_do_not_count() -> None:
    """Real procedures only, by so many observers; the latest three by their day decide."""
    levels = (5, 5, 2, 4, 5)
    watched = [
        observation_of(
            HERON, on=TODAY - timedelta(days=i), supervision=level, observer=f"Observer {i % 2}"
        )
        for i, level in enumerate(levels)
    ]
    watched.append(observation_of(HERON, setting="simulation", observer="Somebody else"))
    assert [c.done for c in supervised_count((), watched).observations] == [5, 2, 2]
    earlier = [replace(o, supervision=1) for o in watched[3:5]]
    assert [c.done for c in supervised_count((), [*watched[:3], *earlier]).observations][2] == 2


def test_the_proposal_is_the_reference_of_the_project() -> None:
    """25 cases, three each of three regions, two of a fourth, three hard to keep still.

    Six observations by two observers, the last three at level 4 or 5: the proposal of our training
    reference, section 4.2, own working values.
    """
    found = supervised_count((), ())
    assert [c.proposed for c in found.cases] == [25, 3, 3, 3, 2, 3]
    assert [c.proposed for c in found.observations] == [OBSERVATIONS, 2, 3] == [6, 2, 3]
    assert len(REGIONS_WANTED) == 4


# One-sided 95 % bounds of a clean log: 1 - 0.05 ** (1 / n), table of our training reference 4.2.
@pytest.mark.parametrize(("n", "bound"), [(10, 25.9), (20, 13.9), (25, 11.3), (30, 9.5), (59, 5.0)])
def test_a_full_count_says_what_it_cannot_show(n: int, bound: float) -> None:
    """Beside the count stands the rate that so many clean cases leave possible."""
    text = count_text(supervised_count(cases(*["joint"] * n), ()))
    assert f"cases {n} (25)" in text
    assert f"0 of these {n} images were not acceptable" in text
    assert f"up to {bound:.1f} % (95 %, one-sided)" in text


def test_a_rejected_image_raises_the_bound() -> None:
    """With one of 25 rejected, one or none happens 1 time in 20 at the bound that is told."""
    made = [*cases(*["joint"] * 24), supervised_of(HERON, grade="N", cause="motion")]
    text = count_text(supervised_count(made, ()))
    assert "1 of these 25 images" in text
    p = float(text.split("up to ")[1].split(" %")[0]) / 100.0
    assert (1 - p) ** 25 + 25 * p * (1 - p) ** 24 == pytest.approx(0.05, abs=0.001)


def test_who_decides_is_said() -> None:
    """That no published minimum was found and who decides is said, with nothing counted, too."""
    text = count_text(supervised_count((), ()))
    assert text.endswith(SOURCE)
    assert "No published minimum was found for operators" in text
    assert "local rules and your supervisor decide" in text
    assert "one-sided" not in text

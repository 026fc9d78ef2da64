"""Instructors' words made ready for the statistics."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from helpers.attempts import attempt

from trainer.engine.statistics.panels import paired_ratings, panel_cut, rated_scores
from trainer.errors import NotValid
from trainer.models.records import Observation, PanelEstimate

DAY = date(2026, 3, 2)
WATCHED = Observation("o1", "alder", DAY, "Rowan", "simulated", {}, 4, 4, "", "", "0001")


def estimates(table: dict[str, list[float]]) -> list[PanelEstimate]:
    """One estimate for each judge and item."""
    return [
        PanelEstimate(f"{judge}{i}", judge, "spring", "case-a", f"item-{i}", share, DAY)
        for judge, shares in table.items()
        for i, share in enumerate(shares)
    ]


def test_a_panel_gives_its_cut_in_any_order():
    """Two judges and two items, by hand: cuts 1.5 and 1.1, mean 1.3 of 2."""
    words = estimates({"rowan": [0.9, 0.6], "elm": [0.7, 0.4]})
    cut = panel_cut(words[::-1])
    assert cut.judge_cuts.tolist() == pytest.approx([1.1, 1.5])  # elm, rowan
    assert (cut.cut, cut.percent) == (pytest.approx(1.3), pytest.approx(65.0))


def test_the_later_word_of_a_judge_counts():
    """A second estimate of one judge for one item takes the first one's place."""
    words = estimates({"rowan": [0.9], "elm": [0.7]})
    later = replace(words[0], id="again", share=0.5, on=date(2026, 3, 9))
    assert panel_cut([later, *words]).cut == pytest.approx(0.6)


def test_gaps_of_a_panel_are_named():
    """A judge who left an item out is named with the item."""
    words = estimates({"rowan": [0.9, 0.6], "elm": [0.7, 0.4]})
    with pytest.raises(NotValid) as refused:
        panel_cut(words[:-1])
    assert [(f.key, f.text) for f in refused.value.faults] == [
        ("elm", "has not judged 'item-1' of case 'case-a'")
    ]


def test_ratings_stand_beside_the_scores_of_the_attempts_watched():
    """Only observations of attempts that are there make a pair."""
    attempts = [attempt(1, percent=88.0), attempt(2, percent=40.0)]
    clinical = replace(WATCHED, id="o2", attempt_id="")
    gone = replace(WATCHED, id="o3", attempt_id="9999")
    assert rated_scores([clinical, WATCHED, gone], attempts) == ([4.0], [88.0])


def test_several_ratings_of_one_attempt_are_averaged():
    """Two people's words on one attempt are one pair, so that it is not counted twice."""
    second = replace(WATCHED, id="o2", observer="Elm", overall=3)
    assert rated_scores([WATCHED, second], [attempt(1, percent=88.0)]) == ([3.5], [88.0])


def test_two_observers_of_one_attempt_make_a_pair():
    """Pairs stand in the order of the observers' names; attempts watched by one are left out."""
    second = replace(WATCHED, id="o2", observer="Elm", overall=3)
    third = replace(WATCHED, id="o3", observer="Yew", overall=1)
    alone = replace(WATCHED, id="o4", attempt_id="0002")
    assert paired_ratings([WATCHED, alone, second, third]) == ([3], [4])

"""Local-rules files: what is read, which faults are found, where and in which words."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import pytest

from trainer.errors import Fault, NotFound, NotValid
from trainer.models.appointment_visit import LocalRules
from trainer.models.appointment_words import CriticalItem, IdentityItem, Shield
from trainer.models.learning import BlockWeights
from trainer.services.assets import SCENARIOS
from trainer.services.rules_io import find_rules, load_rules, rules_faults
from trainer.services.yaml_text import tree_of

FOLDER = SCENARIOS / "rules"
SHIPPED = FOLDER / "tallow_lane.yaml"
TEXT = SHIPPED.read_text(encoding="utf-8")


def test_the_shipped_rules_are_read_as_written() -> None:
    """Three items, private question from 12 to 55, no shield, nobody stays, three seconds."""
    assert load_rules(SHIPPED) == LocalRules(
        identity_items=tuple(IdentityItem),
        pregnancy_ages=(12, 55),
        shield=Shield.NONE,
        companion_may_stay=False,
        ready_steady_s=3.0,
    )
    assert find_rules("tallow-lane", FOLDER) == load_rules(SHIPPED)


def test_the_shipped_rules_say_that_they_are_invented_and_yours_decide() -> None:
    """The note names both."""
    assert "Invented" in TEXT and "Your own local rules" in TEXT


def test_nobody_may_be_asked() -> None:
    """`null` stands for a rule that asks nobody."""
    tree = tree_of(TEXT.replace("pregnancy_ages: [12, 55]", "pregnancy_ages: null"), "rules.yaml")
    assert rules_faults(tree) == ()


ONE_FAULT = {
    "shield": ("shield: none", "shield: nun", "shield",
               "must be one of none, collar-low, collar-high, apron; got 'nun'"),
    "ages": ("[12, 55]", "[55, 12]", "pregnancy_ages[1]",
             "must be at least the lowest age (55 years), got 12"),
    "ages are text": ("pregnancy_ages: [12, 55]", "pregnancy_ages: all", "pregnancy_ages",
                      "must be a list or null, got 'all'"),
    "one age": ("[12, 55]", "[12]", "pregnancy_ages", "must hold 2 to 2 entries, got 1"),
    "item twice": ("[name, birth-date, address]", "[name, name]", "identity_items[1]",
                   "'name' is listed twice"),
    "a weight": ("  review: 10", "  review: ten", "block_weights.review",
                 "must be a whole number, got 'ten'"),
    "mark": ("mastery_percent: 90", "mastery_percent: 190", "mastery_percent",
             "must be 1 to 100, got 190"),
    "item": ("  - target-outside", "  - target-outsider", "critical_items[4]",
             "must be one of exposure-not-authorised, identity-not-confirmed, "
             "pregnancy-rule-not-followed, wrong-side-region-or-person, target-outside, "
             "avoidable-metal-across-target, other-person-in-room, person-not-watched, "
             "needless-or-unmended-retake, rejected-exposure-not-recorded; got 'target-outsider', "
             "did you mean 'target-outside'?"),
    "angle": ("    turn_deg: 8", "    turn_deg: 0", "tolerances.guided.turn_deg",
              "must be above 0 deg and at most 45 deg, got 0"),
    "credit": ("    inside_credit: 0\n", "    inside_credit: 2\n", "tolerances.exam.inside_credit",
               "must be 0 to 1, got 2"),
    "task": ("[both-jaws,", "[all,", "strict_tasks[0]",
             "must be one of single-site, lower-jaw, upper-jaw, both-jaws, one-joint, "
             "both-joints, sinus, ear, panoramic; got 'all'"),
    "months": ("keep_records_months: 36", "keep_records_months: 0", "keep_records_months",
               "must be 1 to 600, got 0"),
    "language": ("language: en", "language: English", "language",
                 "must be two small letters, got 'English'"),
    "numbering": ("tooth_numbering: fdi", "tooth_numbering: own", "tooth_numbering",
                  "must be one of fdi, universal; got 'own'"),
    "signatures": ("[learner, supervisor]", "[learner, learner]", "signatures[1]",
                   "'learner' is listed twice"),
    "nobody": ("authorised_by: [the practitioner]", "authorised_by: []", "authorised_by",
               "must hold 1 to 10 entries, got 0"),
    "steady": ("ready_steady_s: 3", "ready_steady_s: -1", "ready_steady_s",
               "must be 0 to 30, got -1"),
}  # fmt: skip


@pytest.mark.parametrize("name", ONE_FAULT)
def test_one_fault_is_told_with_line_key_and_words(name: str) -> None:
    """A rules file with one fault gives exactly that one, on its line."""
    old, new, key, text = ONE_FAULT[name]
    assert TEXT.count(old) == 1
    line = TEXT[: TEXT.index(old)].count("\n") + 1
    found = rules_faults(tree_of(TEXT.replace(old, new), "rules.yaml"))
    assert found == (Fault("rules.yaml", line, key, text),)


def test_weights_that_do_not_add_up_are_told_at_their_group() -> None:
    """No single one of them is at fault."""
    found = rules_faults(tree_of(TEXT.replace("  review: 10", "  review: 20"), "rules.yaml"))
    line = TEXT[: TEXT.index("block_weights:")].count("\n") + 1
    text = "must add up to 100, got 110"
    assert found == (Fault("rules.yaml", line, "block_weights", text),)


JUDGED_BY = (
    "critical_items", "block_weights", "mastery_percent", "tolerances", "strict_tasks",
    "authorised_by", "retake_decided_by", "keep_records_months", "language", "tooth_numbering",
    "signatures",
)  # fmt: skip


def test_the_shipped_file_shows_every_key_with_the_value_that_counts_without_it() -> None:
    """Without the keys on judging the rules are the same, as the page for instructors says."""
    short = TEXT[: TEXT.index("# How an attempt is judged")]
    assert all(f"\n{key}:" in TEXT and f"\n{key}:" not in short for key in JUDGED_BY)
    assert {f.name for f in fields(LocalRules)} >= set(JUDGED_BY)
    data = tree_of(short, "rules.yaml")
    assert rules_faults(data) == ()


def test_rules_without_the_keys_on_judging_are_the_usual_ones(tmp_path: Path) -> None:
    """Each key may be left out on its own."""
    path = tmp_path / "rules.yaml"
    path.write_text(TEXT[: TEXT.index("# How an attempt is judged")], encoding="utf-8")
    assert load_rules(path) == load_rules(SHIPPED)
    with path.open("a", encoding="utf-8") as file:
        file.write("mastery_percent: 75\ncritical_items: [target-outside]\n")
    own = load_rules(path)
    assert own.mastery_percent == 75.0
    assert own.critical_items == (CriticalItem.TARGET_OUTSIDE,)
    assert replace(own, mastery_percent=90.0, critical_items=tuple(CriticalItem)) == load_rules(
        SHIPPED
    )


# Training reference, 2.5: turn, strict turn, pitch, share of the free play, pairs of scouts.
def test_the_usual_tolerances_are_those_of_the_reference() -> None:
    """Guided, routine and exam by the table; adapted goes by the case."""
    found = load_rules(SHIPPED).tolerances
    rows = [
        (t.turn_deg, t.strict_turn_deg, t.pitch_deg, t.centre_share, t.scout_pairs)
        for t in (found.guided, found.routine, found.adapted, found.exam)
    ]
    assert rows == [
        (8.0, 5.0, 10.0, 1.0, 3),
        (6.0, 4.0, 8.0, 0.75, 2),
        (None, None, None, 1.0, 2),
        (6.0, 3.0, 8.0, 0.75, 2),
    ]


def test_weights_that_do_not_add_up_are_refused_by_the_model_too() -> None:
    """A program that makes rules itself is told as well."""
    with pytest.raises(NotValid, match="add up to 100, got 101"):
        BlockWeights(review=11)
    with pytest.raises(NotValid, match="must be 0 or more"):
        BlockWeights(position=-10, review=55)


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """Loading tells every fault of the file."""
    path = tmp_path / "rules.yaml"
    path.write_text(TEXT.replace("shield: none", "shield: 1").replace("kind: rules", "kind: x"))
    with pytest.raises(NotValid) as told:
        load_rules(path)
    assert [f.key for f in told.value.faults] == ["kind", "shield"]


def test_an_unknown_name_offers_the_nearest() -> None:
    """A misspelt id of rules is told with the nearest one there is."""
    with pytest.raises(NotFound, match="did you mean 'tallow-lane'"):
        find_rules("tallow-line", FOLDER)


def test_rules_under_a_wrong_name_are_told(tmp_path: Path) -> None:
    """A file that says another id than its name is not taken."""
    (tmp_path / "other.yaml").write_text(TEXT, encoding="utf-8")
    with pytest.raises(NotFound, match="holds rules 'tallow-lane', expected 'other'"):
        find_rules("other", tmp_path)

"""Local-rules files: what is read, which faults are found, where and in which words."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.errors import Fault, NotFound, NotValid
from trainer.models.appointment_visit import LocalRules
from trainer.models.appointment_words import IdentityItem, Shield
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

"""Local-rules files: what a practice's own rules say, from YAML to `LocalRules`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.engine.appointment.plain_data import from_data
from trainer.errors import Fault, NotFound
from trainer.models.appointment_visit import LocalRules
from trainer.models.learning import Block
from trainer.services.file_check import got, in_order, known, schema_faults, sound_tree
from trainer.services.unit_io import Folders, named_file
from trainer.services.yaml_text import Tree, read_tree

# What a file says about itself, beside the rules.
ABOUT_ITSELF = ("schema_version", "kind", "id", "name", "note")


def load_rules(path: Path) -> LocalRules:
    """The rules that the file states.

    Raises
    ------
    NotReadable, NotValid
        As `sound_tree`.
    """
    data: Any = sound_tree(path, rules_faults).data
    rules = {key: value for key, value in data.items() if key not in ABOUT_ITSELF}
    return from_data(LocalRules, rules, str(path))


def find_rules(rules_id: str, folder: Folders) -> LocalRules:
    """The rules of that id from the folder of rules files.

    Raises
    ------
    NotFound
        If there is no such file, or the file says another id; the message offers the nearest.
    NotReadable, NotValid
        As `load_rules`.
    """
    path = rules_file(rules_id, folder)
    rules = load_rules(path)
    data: Any = read_tree(path).data
    if data["id"] != rules_id:
        raise NotFound(f"{path}: holds rules {data['id']!r}, expected {rules_id!r}")
    return rules


def rules_file(rules_id: str, folder: Folders) -> Path:
    """The file of the rules of that id; NotFound when there is none."""
    return named_file("rules", rules_id, folder)


def rules_faults(tree: Tree) -> tuple[Fault, ...]:
    """Every fault of a local-rules file, from top to bottom; empty when all is well."""
    schema_faults(tree, "rules")
    ages = known(tree, "pregnancy_ages")
    sound = not any(tree.is_spoiled(("pregnancy_ages", n)) for n in (0, 1))
    if isinstance(ages, list) and sound and len(ages) == 2 and ages[1] < ages[0]:
        text = f"must be at least the lowest age ({got(ages[0])} years), got {got(ages[1])}"
        tree.say(("pregnancy_ages", 1), text)
    weights = [known(tree, "block_weights", block.value) for block in Block]
    if None not in weights and sum(weights) != 100:
        tree.say(("block_weights",), f"must add up to 100, got {sum(weights)}")
    return in_order(tree)

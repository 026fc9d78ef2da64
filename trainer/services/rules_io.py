"""Local-rules files: what a practice's own rules say, from YAML to `LocalRules`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.engine.appointment.plain_data import from_data
from trainer.errors import Fault, NotFound, NotValid
from trainer.models.appointment_visit import LocalRules
from trainer.models.learning import Block
from trainer.services.file_check import got, in_order, known, near_hint, schema_faults
from trainer.services.unit_io import Folders, named_files
from trainer.services.yaml_text import Tree, read_tree

# What a file says about itself, beside the rules.
ABOUT_ITSELF = ("schema_version", "kind", "id", "name", "note")


def load_rules(path: Path) -> LocalRules:
    """The rules that the file states.

    Raises
    ------
    NotReadable
        If the file is missing, too large, or no YAML text.
    NotValid
        With every fault of the file.
    """
    tree = read_tree(path)
    faults = rules_faults(tree)
    if faults:
        raise NotValid(faults)
    data: Any = tree.data
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
    files = named_files(folder)
    if rules_id not in files:
        hint = near_hint(rules_id, files) or f"; there are {', '.join(files) or 'none'}"
        raise NotFound(f"unknown rules {got(rules_id)}{hint}")
    return files[rules_id]


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

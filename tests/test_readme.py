"""The documents at the top say what is true."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

import start
from trainer.cli.main import main

ROOT = Path(start.__file__).parent
DOCUMENTS = ("README.md", "DEVELOPERS.md", "CHANGELOG.md")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_links_lead_somewhere(name: str) -> None:
    """Every link and picture that names no web address is a file in the tree."""
    text = (ROOT / name).read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#]+)\)", text)
    missing = [t for t in targets if "://" not in t and not (ROOT / t).is_file()]
    assert missing == []


def test_commands_are_real() -> None:
    """Every command in README's table stands in the help of ``trainer``."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"^\| `trainer ([a-z-]+)", text, flags=re.MULTILINE)
    assert len(commands) >= 6
    code = "import sys; from trainer.cli.main import main; sys.exit(main(['--help']))"
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, cwd=ROOT
    )
    assert [c for c in commands if not re.search(rf"\b{c}\b", shown.stdout)] == [], shown.stderr


def test_cautions_are_told() -> None:
    """README says what the program is not."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for words in ("training only", "not a medical device", "no evidence of clinical competence"):
        assert words in text.lower()


def test_examples_run(capsys: pytest.CaptureFixture[str]) -> None:
    """Every example line ``trainer assess …`` in README runs and prints something."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    examples = re.findall(r"^trainer (assess .+)$", text, flags=re.MULTILINE)
    assert len(examples) >= 2
    for example in examples:
        assert main(shlex.split(example)) == 0, example
        assert capsys.readouterr().out.strip(), example

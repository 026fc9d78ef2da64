"""Docstrings that name parameters name the right ones.

Read from the source text, so nothing is imported and nothing left out: every module under
trainer/ is read, every public function and class in it, and every ``Parameters`` section.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "trainer"
MODULES = sorted(PACKAGE.rglob("*.py"))

Definition = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef


def documented_names(docstring: str) -> list[str] | None:
    """Names in the ``Parameters`` section (numpydoc's layout), stars left out; None without one.

    A name stands at the section's own indent: ``name : type``, ``a, b : type`` or ``name``.
    """
    lines = docstring.splitlines()
    for number, line in enumerate(lines[:-1]):
        if line.strip() == "Parameters" and re.fullmatch(r"\s*-{3,}\s*", lines[number + 1]):
            break
    else:
        return None
    indent = len(line) - len(line.lstrip())
    names: list[str] = []
    for here, following in zip(lines[number + 2 :], [*lines[number + 3 :], ""], strict=True):
        if re.fullmatch(r"\s*-{3,}\s*", following):
            break  # ``here`` is the next section's title
        if here.strip() and len(here) - len(here.lstrip()) == indent:
            names += [name.strip().lstrip("*") for name in here.split(":")[0].split(",")]
    return names


def real_names(definition: Definition) -> list[str]:
    """Names of a function's parameters, or of what a class is made from."""
    if isinstance(definition, ast.ClassDef):
        for part in definition.body:
            if isinstance(part, ast.FunctionDef) and part.name == "__init__":
                return real_names(part)
        return [  # a dataclass: its fields
            part.target.id
            for part in definition.body
            if isinstance(part, ast.AnnAssign)
            and isinstance(part.target, ast.Name)
            and "ClassVar" not in ast.unparse(part.annotation)
        ]
    a = definition.args
    given = [*a.posonlyargs, *a.args]
    if given and given[0].arg in ("self", "cls"):
        given = given[1:]
    star = [a.vararg] if a.vararg else []
    double_star = [a.kwarg] if a.kwarg else []
    return [x.arg for x in (*given, *star, *a.kwonlyargs, *double_star)]


def public_definitions(body: list[ast.stmt], prefix: str = "") -> Iterator[tuple[str, Definition]]:
    """Public functions and classes in a module, and the public functions of those classes."""
    for part in body:
        if isinstance(part, Definition) and not part.name.startswith("_"):
            yield prefix + part.name, part
            if isinstance(part, ast.ClassDef):
                yield from public_definitions(part.body, f"{prefix}{part.name}.")


def wrong_docstrings(source: str) -> list[str]:
    """One line for each public docstring whose ``Parameters`` differ from the signature."""
    wrong = []
    for name, definition in public_definitions(ast.parse(source).body):
        documented = documented_names(ast.get_docstring(definition) or "")
        if documented is not None and documented != (real := real_names(definition)):
            wrong.append(f"line {definition.lineno} {name}: says {documented}, takes {real}")
    return wrong


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_documented_parameters_are_the_real_ones(path: Path) -> None:
    """Every ``Parameters`` section names the signature's parameters, all of them, in order."""
    assert wrong_docstrings(path.read_text(encoding="utf-8")) == []


def test_modules_are_found() -> None:
    """The check reads the package's modules, and not an empty folder."""
    assert PACKAGE / "models" / "frames.py" in MODULES


EXAMPLE = '''
class Box:
    """A box.

    Parameters
    ----------
    {fields}
    """
    width_mm: float
    depth_mm: float

    def grow(self, by_mm: float, *parts: int, twice: bool = False, **more: int) -> None:
        """Grows.

        Parameters
        ----------
        {names}
            How much.

        Returns
        -------
        None
            Nothing.
        """
'''


@pytest.mark.parametrize(
    ("fields", "names", "faults"),
    [
        ("width_mm, depth_mm : float", "by_mm : float\n        *parts, twice, **more", 0),
        ("width_mm : float", "by_mm : float\n        *parts, twice, **more", 1),
        ("width_mm, depth_mm : float", "by_cm : float\n        *parts, twice, **more", 1),
        ("width_mm, depth_mm : float", "by_mm : float\n        twice, *parts, **more", 1),
        ("depth_mm", "by_mm", 2),
    ],
)
def test_the_check_sees_a_wrong_name(fields: str, names: str, faults: int) -> None:
    """A missing, misspelt or displaced name is found in a function and in a class."""
    assert len(wrong_docstrings(EXAMPLE.format(fields=fields, names=names))) == faults

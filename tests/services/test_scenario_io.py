"""Case files: what is read, which faults are found, on which line, in which words."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from trainer.errors import Fault, NotFound, NotReadable, NotValid
from trainer.models.device import Region
from trainer.models.scenario import ReferencePlane, Requirement
from trainer.models.setup import setup_faults
from trainer.models.subject import Person, Sex
from trainer.services import yaml_text
from trainer.services.assets import known_structure_ids
from trainer.services.drafts.draft import open_draft, save
from trainer.services.file_check import SCHEMA_FOLDER
from trainer.services.scenario_io import check_file, find_case, load_case
from trainer.services.unit_io import find_unit

PROJECT = Path(__file__).resolve().parents[2]
CASES = PROJECT / "scenarios"
UNITS = CASES / "units"
CASE_FILES = sorted(CASES.glob("*.yaml"))
OTHER_FOLDERS = ("units", "rules", "solutions")
SHIPPED = [*CASE_FILES, *(p for f in OTHER_FOLDERS for p in sorted((CASES / f).glob("*.yaml")))]
DEMO = CASES / "lower_third_molar.yaml"
IDS = frozenset(
    {"tooth-47", "tooth-48", "tooth-48-crown", "tooth-48-apex-mesial", "tooth-48-apex-distal",
     "canal-at-48", "canal-right", "canal-left"}
)  # fmt: skip
KEYS_OF_START = json.loads((SCHEMA_FOLDER / "case.schema.json").read_text(encoding="utf-8"))[
    "properties"
]["start"]["required"]


def faults_of(tmp_path: Path, text: str, ids: frozenset[str] | None = IDS) -> list[Fault]:
    path = tmp_path / "case.yaml"
    path.write_text(text, encoding="utf-8")
    return list(check_file(path, UNITS, ids))


def changed(old: str, new: str) -> tuple[str, int]:
    """The demo case with one place changed, and the number of the line where the change begins."""
    text = DEMO.read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    return text.replace(old, new), text[: text.index(old)].count("\n") + 1


def test_the_demo_case_is_read_as_written() -> None:
    """Texts, person, start, requirements and limits of the demo case arrive unchanged."""
    case = load_case(DEMO, UNITS, IDS)
    assert (case.id, case.level, case.unit_id) == ("lower-third-molar", 1, "alder-bench")
    assert case.title == {
        "en": "Lower right third molar",
        "de": "Unterer rechter Weisheitszahn",
    }
    assert case.subject.person == Person(Sex.MALE, 28)
    assert case.start.region is Region.LOWER_JAW
    assert (case.start.chin_height_mm, case.start.field) == (-42.0, "40x40")
    assert case.start.arm_turned is False
    assert case.required[0] == Requirement("tooth-48", 2.0)
    assert case.wanted == ("tooth-47", "canal-right")
    assert case.attitude.reference_plane is ReferencePlane.LOWER_OCCLUSAL
    assert isinstance(case.start.sideways_mm, float)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_a_shipped_file_has_no_faults(path: Path) -> None:
    """Every shipped file passes its own check."""
    assert check_file(path, UNITS) == ()


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda p: p.stem)
def test_a_shipped_case_names_structures_of_the_built_head(path: Path) -> None:
    """Every structure that a shipped case names is one of the built head."""
    load_case(path, UNITS, known_structure_ids())


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_reading_and_writing_gives_the_same_bytes(path: Path) -> None:
    """Read, write, read, write: twice the bytes of the file, comments included."""
    once = yaml_text.dump(yaml_text.load_document(path))
    assert once.encode("utf-8") == path.read_bytes()
    assert "#" in once


def test_a_changed_document_keeps_its_comments(tmp_path: Path) -> None:
    """Changing one value changes that line alone."""
    document = yaml_text.load_document(DEMO)
    document["start"]["yaw_deg"] = 7
    before = DEMO.read_text(encoding="utf-8").splitlines()
    after = yaml_text.dump(document).splitlines()
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        ("  yaw_deg: 0", "  yaw_deg: 7")
    ]


def test_line_ends_of_another_system_survive(tmp_path: Path) -> None:
    """A file with CR LF line ends and a byte order mark is read, and written back alike."""
    path = tmp_path / "case.yaml"
    raw = b"\xef\xbb\xbf" + DEMO.read_bytes().replace(b"\n", b"\r\n")
    path.write_bytes(raw)
    assert check_file(path, UNITS, IDS) == ()
    out = tmp_path / "again.yaml"
    save(open_draft(path), out)
    assert out.read_bytes() == raw


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda p: p.stem)
def test_a_shipped_case_is_complete(path: Path) -> None:
    """Each case has both languages, says that it is invented, is named as its file, can be set."""
    case = load_case(path, UNITS)
    assert case.id == path.stem.replace("_", "-")
    for texts in (case.title, case.request, case.aim):
        assert set(texts) >= {"en", "de"}
        assert texts["en"] != texts["de"]
    assert "invented" in case.request["en"] and "erfunden" in case.request["de"]
    assert "invented" in case.subject.display_name
    unit = find_unit(case.unit_id, UNITS)
    assert setup_faults(case.start, unit) == []
    field = unit.field(case.start.field)
    for required in case.required:
        assert 2 * (required.margin_mm + case.guard_rim_mm) < min(
            field.diameter_mm, field.height_mm
        )


def test_the_cases_cover_levels_regions_and_units() -> None:
    """30 cases of all four levels are shipped; they use every region and all the shipped units."""
    cases = [load_case(p, UNITS) for p in CASE_FILES]
    assert len(cases) == 30
    assert {c.level for c in cases} == {1, 2, 3, 4}
    assert {c.start.region for c in cases} == set(Region)
    assert {c.unit_id for c in cases} == {p.stem.replace("_", "-") for p in UNITS.glob("*.yaml")}


ONE_FAULT = {
    "wrong version": ("schema_version: 1", "schema_version: 2", "schema_version",
                      "must be 1, got 2"),
    "version is text": ("schema_version: 1", "schema_version: one", "schema_version",
                        "must be 1, got 'one'"),
    "unknown kind": ("kind: case", "kind: cases", "kind",
                     "must be one of case, unit, rules, commands, pack; got 'cases', did you mean "
                     "'case'?"),
    "bad id": ("id: lower-third-molar", "id: Lower Molar", "id",
               "must be lower-case words and numbers joined by hyphens, got 'Lower Molar'"),
    "level too high": ("level: 1", "level: 9", "level", "must be 1 to 4, got 9"),
    "level no whole number": ("level: 1", "level: 1.5", "level",
                              "must be a whole number, got 1.5"),
    "unknown key": ("level: 1", "level: 1\nzzzzz: 2", "zzzzz",
                    "unknown key; known here: schema_version, kind, id, level, task, title, "
                    "request, aim, subject, unit, start, required, wanted, attitude, "
                    "guard_rim_mm, groove_off_mm, visit, rules"),
    "misspelt key": ("  sex: male", "  sex: male\n  age_yeers: 2", "subject.age_yeers",
                     "unknown key, did you mean 'age_years'?"),
    "bad language": ("  de: Unterer", "  german: Unterer", "title.german",
                     "unknown key; known here: en, de"),
    "text is a number": ("  de: Unterer rechter Weisheitszahn", "  de: 48", "title.de",
                         "must be text, got 48 (put it in quotes)"),
    "empty text": ("  de: Unterer rechter Weisheitszahn", "  de: ''", "title.de",
                   "must be 1 to 2000 characters long, got 0"),
    "no text": ("  de: Unterer rechter Weisheitszahn", "  de:", "title.de",
                "must be text, got nothing"),
    "sex": ("  sex: male", "  sex: mail", "subject.sex",
            "must be one of male, female; got 'mail', did you mean 'male'?"),
    "chin height of a person": ("  chin_standing_mm: 1510", "  chin_standing_mm: 151",
                                "subject.chin_standing_mm", "must be 700 to 1900 mm, got 151"),
    "age": ("  age_years: 28", "  age_years: 5", "subject.age_years",
            "must be 6 to 100 years, got 5"),
    "truth as number": ("  sideways_mm: 0\n  for", "  sideways_mm: true\n  for",
                        "start.sideways_mm", "must be a number, got true"),
    "number as truth": ("arm_turned: false", "arm_turned: 0", "start.arm_turned",
                        "must be true or false, got 0"),
    "outside the travel": ("  chin_height_mm: -42  ", "  chin_height_mm: 99  ",
                           "start.chin_height_mm", "must be -60 to 40 mm, got 99"),
    "angle outside the travel": ("  yaw_deg: 0", "  yaw_deg: 25.5", "start.yaw_deg",
                                 "must be -25 to 25 deg, got 25.5"),
    "not a number": ("  yaw_deg: 0", "  yaw_deg: .nan", "start.yaw_deg",
                     "must be a finite number, got nan"),
    "infinite": ("  yaw_deg: 0", "  yaw_deg: -.inf", "start.yaw_deg",
                 "must be a finite number, got -inf"),
    "too large for a float": ("  yaw_deg: 0", "  yaw_deg: 1e999", "start.yaw_deg",
                              "must be a finite number, got inf"),
    "unknown region": ("  region: lower-jaw\n  field: 40x40", "  region: lower jaw\n  field: 40x40",
                       "start.region",
                       "must be one of lower-jaw, upper-jaw, both-jaws, joints; got 'lower jaw', "
                       "did you mean 'lower-jaw'?"),
    "field not in the unit": ("  field: 40x40\n  field_s", "  field: 40x45\n  field_s",
                              "start.field",
                              "unit alder-bench has no '40x45'; it has 40x40, 50x50, 60x60, "
                              "80x50, 100x50, 80x80, 100x80, 140x60, did you mean '40x40'?"),
    "region not served": ("  field: 40x40\n  field_s", "  field: 80x80\n  field_s", "start.field",
                          "80x80 serves both-jaws, not lower-jaw"),
    "unknown structure": ("  - structure: tooth-48\n", "  - structure: tooth-49\n",
                          "required[0].structure",
                          "unknown structure 'tooth-49', did you mean 'tooth-48'?"),
    "unknown wanted structure": ("  - canal-right", "  - canal-rigt", "wanted[1]",
                                 "unknown structure 'canal-rigt', did you mean 'canal-right'?"),
    "wide margin": ("  - structure: tooth-48\n    margin_mm: 2", "  - structure: tooth-48\n"
                    "    margin_mm: 21", "required[0].margin_mm", "must be 0 to 20 mm, got 21"),
    "attitude limit": ("  pitch_deg: 10", "  pitch_deg: 0  # none", "attitude.pitch_deg",
                       "must be above 0 deg and at most 45 deg, got 0"),
    "reference plane": ("reference_plane: lower-occlusal", "reference_plane: lower-oclusal",
                        "attitude.reference_plane",
                        "must be one of frankfort, upper-occlusal, lower-occlusal; got "
                        "'lower-oclusal', did you mean 'lower-occlusal'?"),
    "group instead of value": ("guard_rim_mm: 1", "guard_rim_mm: {a: 1}", "guard_rim_mm",
                               "must be a number, got a group of keys"),
    "list instead of group": ("guard_rim_mm: 1", "guard_rim_mm: [1]", "guard_rim_mm",
                              "must be a number, got a list"),
    "unknown unit": ("unit: alder-bench", "unit: alder-bank", "unit",
                     "unknown unit 'alder-bank', did you mean 'alder-bench'?"),
    "control characters": ("  en: Lower right third molar", '  en: "\\e[2J gone"', "title.en",
                           "must not hold control characters, got '\\x1b[2J gone'"),
    "half a character": ("  en: Lower right third molar", '  en: "\\uD800"', "title.en",
                         "must not hold control characters, got '\\ud800'"),
}  # fmt: skip
LINE_OFFSET = {"unknown key": 1, "misspelt key": 1, "wide margin": 1}


@pytest.mark.parametrize("name", ONE_FAULT)
def test_one_fault_is_told_with_line_key_and_words(tmp_path: Path, name: str) -> None:
    """A file with one fault gives exactly that fault, on the line where it stands."""
    old, new, key, text = ONE_FAULT[name]
    broken, line = changed(old, new)
    path = str(tmp_path / "case.yaml")
    line += LINE_OFFSET.get(name, 0)
    assert faults_of(tmp_path, broken) == [Fault(path, line, key, text)]


def test_a_fault_reads_as_one_line(tmp_path: Path) -> None:
    """A fault begins with file and line, then key, what was expected and what was found."""
    broken, line = changed("  chin_height_mm: -42", "  chin_height_mm: 99")
    (fault,) = faults_of(tmp_path, broken)
    path = tmp_path / "case.yaml"
    assert str(fault) == f"{path}:{line}  start.chin_height_mm: must be -60 to 40 mm, got 99"


@pytest.mark.parametrize("key", KEYS_OF_START)
def test_a_missing_start_value_is_told_at_its_group(tmp_path: Path, key: str) -> None:
    """A missing key is told on the line of the group that should hold it."""
    lines = DEMO.read_text(encoding="utf-8").splitlines()
    group = lines.index("start:") + 1
    at = next(n for n in range(group, len(lines)) if lines[n].startswith(f"  {key}:"))
    del lines[at]
    (fault,) = faults_of(tmp_path, "\n".join(lines))
    assert (fault.line, fault.key, fault.text) == (group, f"start.{key}", "is missing")


def test_missing_top_keys_are_told_on_line_one(tmp_path: Path) -> None:
    """A file with nothing but its kind is told every key it lacks."""
    found = faults_of(tmp_path, "kind: case\n")
    schema = json.loads((SCHEMA_FOLDER / "case.schema.json").read_text(encoding="utf-8"))
    assert {f.key for f in found} == set(schema["required"]) - {"kind"}
    assert {(f.line, f.text) for f in found} == {(1, "is missing")}


def test_all_faults_come_at_once_from_top_to_bottom(tmp_path: Path) -> None:
    """Faults of form, of value, of unit and of structure are all told in one go, in order."""
    text = DEMO.read_text(encoding="utf-8")
    for old, new in (
        ("level: 1", "level: 7"),
        ("  sex: male", "  sex: man"),
        ("  chin_height_mm: -42  ", "  chin_height_mm: 99  "),
        ("  roll_deg: 0", "  roll_deg: level"),
        ("  field: 40x40\n  field_s", "  field: 41x40\n  field_s"),
        ("  - tooth-47", "  - tooth-4"),
        ("guard_rim_mm: 1", "guard_rim_mm: 1\nguard_rim_mm: 2"),
    ):
        assert old in text
        text = text.replace(old, new)
    found = faults_of(tmp_path, text)
    assert [f.key for f in found] == [
        "level", "subject.sex", "start.chin_height_mm", "start.roll_deg", "start.field",
        "wanted[0]", "guard_rim_mm",
    ]  # fmt: skip
    assert [f.line for f in found] == sorted(f.line for f in found)
    assert found[-1].text == f"is given twice, first in line {found[-1].line - 1}"
    with pytest.raises(NotValid) as told:
        load_case(tmp_path / "case.yaml", UNITS, IDS)
    assert told.value.faults == tuple(found)


def test_a_structure_named_twice_is_told(tmp_path: Path) -> None:
    """A structure stands once, among the required or the wanted ones."""
    broken, line = changed("  - tooth-47", "  - tooth-48")
    first = DEMO.read_text(encoding="utf-8").splitlines().index("  - structure: tooth-48") + 1
    (fault,) = faults_of(tmp_path, broken)
    assert (fault.line, fault.key) == (line, "wanted[0]")
    assert fault.text == f"'tooth-48' is named twice, first in line {first}"


def test_structures_are_not_checked_without_a_list(tmp_path: Path) -> None:
    """Without known structures any well-formed name passes."""
    broken, _ = changed("  - tooth-47", "  - tooth-99")
    assert faults_of(tmp_path, broken, None) == []


def test_a_case_of_a_broken_unit_says_so(tmp_path: Path) -> None:
    """A case whose unit file is broken names that file and its first fault."""
    units = tmp_path / "units"
    units.mkdir()
    text = (UNITS / "alder_bench.yaml").read_text(encoding="utf-8")
    (units / "alder_bench.yaml").write_text(text.replace("kind: unit", "kind: unti"), "utf-8")
    shutil.copytree(CASES / "rules", tmp_path / "rules")
    (fault,) = check_file(DEMO, units, IDS)
    assert fault.key == "unit"
    assert "has 1 fault, first " in fault.text and "alder_bench.yaml:3" in fault.text


def test_a_case_is_found_by_name_or_path() -> None:
    """A name with hyphens or underscores, or a path, leads to the file."""
    assert find_case("lower-third-molar", CASES) == DEMO
    assert find_case("lower_third_molar", CASES) == DEMO
    assert find_case(str(DEMO), CASES / "units") == DEMO


@pytest.mark.parametrize("name", ["lower-third-moler", "x/lower_third_mola.yaml"])
def test_an_unknown_case_offers_the_nearest(name: str) -> None:
    """A misspelt case name is told with the nearest one there is."""
    with pytest.raises(NotFound, match="did you mean 'lower-third-molar'"):
        find_case(name, CASES)


def test_a_file_with_another_ending_is_not_said_to_be_missing(tmp_path: Path) -> None:
    """A file that is there but no case by its name is told with the endings expected."""
    path = tmp_path / "bin.log"
    path.write_bytes(b"\0")
    with pytest.raises(NotReadable, match=r"bin\.log: a case file's name must end in \.yaml or"):
        find_case(str(path), CASES)


@pytest.mark.parametrize("name", ["", "\0", "..", "zzzzzz", "a" * 5000])
def test_a_senseless_case_name_is_not_found(name: str) -> None:
    """A name that stands for nothing is told with all there are."""
    with pytest.raises(NotFound, match="there are both-jaws, both-joints, canal-beside-roots"):
        find_case(name, CASES)


def test_a_missing_file_is_not_readable(tmp_path: Path) -> None:
    """A missing file is told as such, in one sentence."""
    with pytest.raises(NotReadable, match=r"gone\.yaml: there is no such file$"):
        load_case(tmp_path / "gone.yaml", UNITS)


@pytest.mark.parametrize("kind", ["case", "unit"])
def test_the_schemas_are_valid_and_closed(kind: str) -> None:
    """Both schemas are valid JSON Schema 2020-12 and allow no unknown key anywhere."""
    schema = json.loads((SCHEMA_FOLDER / f"{kind}.schema.json").read_text(encoding="utf-8"))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)
    groups = 0
    todo = [schema]
    while todo:
        part = todo.pop()
        if isinstance(part, dict):
            if part.get("type") == "object":
                groups += 1
                assert part["additionalProperties"] is False
            todo.extend(part.values())
        elif isinstance(part, list):
            todo.extend(part)
    assert groups >= 5


@pytest.mark.parametrize("kind", ["case", "unit", "rules", "commands"])
def test_the_page_for_instructors_names_every_key(kind: str) -> None:
    """`docs/case-files.md` explains every key that the schemas know."""
    page = (PROJECT / "docs" / "case-files.md").read_text(encoding="utf-8")
    schema = json.loads((SCHEMA_FOLDER / f"{kind}.schema.json").read_text(encoding="utf-8"))
    keys: set[str] = set()
    todo = [schema]
    while todo:
        part = todo.pop()
        if isinstance(part, dict):
            keys |= set(part.get("properties", {}))
            todo.extend(part.values())
        elif isinstance(part, list):
            todo.extend(part)
    assert {key for key in keys if f"`{key}`" not in page} == set()


def test_the_page_for_instructors_names_only_real_structures() -> None:
    """Every structure id in the page's table is one of the built head."""
    page = (PROJECT / "docs" / "case-files.md").read_text(encoding="utf-8")
    table = page.split("### Names of structures")[1].split("## Unit file")[0]
    names = set(re.findall(r"`([a-z][a-z0-9-]+)`", table)) - {"left", "right"}
    assert len(names) > 30
    assert names <= known_structure_ids()


def test_checking_a_file_loads_nothing_heavy() -> None:
    """Checking loads no window toolkit, no 3-D library, no compiler, no scipy, no mesh library."""
    program = (
        "import sys; from pathlib import Path;"
        "from trainer.services.scenario_io import check_file;"
        f"assert check_file(Path({str(DEMO)!r}), Path({str(UNITS)!r})) == ();"
        "print(sorted({m.split('.')[0] for m in sys.modules}))"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    heavy = {"PySide6", "vtk", "vtkmodules", "pyvista", "numba", "scipy", "trimesh",
             "skimage", "matplotlib"}  # fmt: skip
    loaded = set(eval(told.stdout))
    assert "trainer" in loaded
    assert heavy & loaded == set(), "move the import into the function that needs it"

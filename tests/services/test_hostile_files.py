"""Files that want to do harm: every one ends in `NotReadable` or `NotValid`, soon and in words."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.errors import NotReadable, NotValid
from trainer.services import yaml_text
from trainer.services.scenario_io import check_file, load_case
from trainer.services.unit_io import load_unit

CASES = Path(__file__).resolve().parents[2] / "scenarios"
UNITS = CASES / "units"
DEMO = CASES / "lower_third_molar.yaml"
TEXT = DEMO.read_text(encoding="utf-8")

ALIAS_BOMB = "a0: &a0 [x, x]\n" + "".join(
    f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}, *a{n - 1}]\n" for n in range(1, 40)
)


def written(tmp_path: Path, content: str | bytes) -> Path:
    path = tmp_path / "case.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


NOT_READABLE: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "is empty, expected a case or a unit$"),
    "comments only": ("# nothing\n\n# here\n", "is empty, expected a case or a unit$"),
    "binary": (b"\x7fELF\x00\x01\x02", "is a binary file, expected YAML text$"),
    "picture": (b"\x89PNG\r\n\x1a\n\x00\x00", "is a binary file, expected YAML text$"),
    "not UTF-8": ("title: Zähne\n".encode("latin-1"), ":1: is not UTF-8 text; save it as UTF-8$"),
    "UTF-16": (TEXT.encode("utf-16"), "is a binary file, expected YAML text$"),
    "too large": ("#" * (yaml_text.MAX_BYTES + 1), "is larger than 256 KiB, the limit"),
    "deep flow": ("kind: " + "[" * 2000, ":1: is nested deeper than 12 levels$"),
    "deep closed flow": ("kind: " + "[" * 40 + "]" * 40, "is nested deeper than 12 levels$"),
    "deep blocks": ("".join("  " * n + f"k{n}:\n" for n in range(40)), "deeper than 12 levels$"),
    "deep dashes": ("- " * 3000 + "x", "is nested deeper than 12 levels$"),
    "many values": ("a: [" + "1," * 6000 + "]", "holds more than 5000 values, the limit"),
    "many keys": ("".join(f"k{n}: 1\n" for n in range(6000)), "holds more than 5000 values"),
    "two documents": (TEXT + "---\n" + TEXT, "holds a second document; one file is one case"),
    "directive": ("%YAML 1.1\n---\nkind: case\n", "starts with a % directive; leave it out$"),
    "tag directive": ("%TAG ! tag:x,2000:\n---\na: 1\n", "starts with a % directive"),
    "broken quotes": ('a: 1\nb: "open\n', ":3: is not readable as YAML: "),
    "broken indent": ("a: 1\n   b: 2\n", ":2: is not readable as YAML: "),
    "tab": ("start:\n\tyaw_deg: 1\n", ":2: is not readable as YAML: "),
    "control character": ("a: 1\nb: \x07\n", "is not readable as YAML"),
    "list as key": ("? [a, b]\n: 1\n", ":1: a key must be plain text$"),
    "group as key": ("{{a: 1}: 2}", ":1: a key must be plain text$"),
    "alias as key": ("a: &x b\n*x : 2\n", ":2: a key must be plain text$"),
    "bad escape": ('a: "\\UFFFFFFFF"\n', "is not readable as YAML"),
}


@pytest.mark.parametrize("name", NOT_READABLE)
def test_an_unreadable_file_is_told_in_one_sentence(tmp_path: Path, name: str) -> None:
    """Each such file raises `NotReadable` with one clear line, checked or loaded for changing."""
    content, words = NOT_READABLE[name]
    path = written(tmp_path, content)
    for read in (lambda: check_file(path, UNITS), lambda: yaml_text.load_document(path)):
        with pytest.raises(NotReadable, match=words) as told:
            read()
        assert "\n" not in str(told.value) and str(told.value).startswith(str(path))


NOT_VALID = {
    "tag": ("level: !!python/object/apply:os.system ['true']\n", 1, "level",
            "tags (tag:yaml.org,2002:python/object/apply:os.system) are not allowed; "),
    "own tag": ("kind: case\nlevel: !mine 1\n", 2, "level", "tags (!mine) are not allowed; "),
    "text tag": ("kind: case\nlevel: !!int 1\n", 2, "level", "are not allowed; leave it out"),
    "anchor": ("kind: case\nlevel: &one 1\n", 2, "level",
               "anchors (&one) are not allowed; leave it out"),
    "alias": ("kind: &c case\nlevel: *c\n", 2, "level",
              "aliases (*c) are not allowed; write the value out"),
    "alias of nothing": ("kind: case\nlevel: *gone\n", 2, "level", "aliases (*gone) are not"),
    "merge": ("kind: case\n<<: {level: 1}\n", 2, "<<", "merging with << is not allowed"),
    "repeated key": ("kind: case\nlevel: 1\nid: a\nlevel: 2\n", 4, "level",
                     "is given twice, first in line 2"),
    "repeated group": ("kind: case\nstart: {}\nstart: {}\n", 3, "start",
                       "is given twice, first in line 2"),
    "list at top": ("- kind: case\n", 1, "", "must be a group of keys, got a list"),
    "text at top": ("case\n", 1, "", "must be a group of keys, got 'case'"),
    "number at top": ("12\n", 1, "", "must be a group of keys, got 12"),
    "no kind": ("level: 1\n", 1, "kind",
                "must be one of case, unit, rules, commands, pack; is missing"),
    "kind is a list": ("kind: [case]\n", 1, "kind",
                       "must be one of case, unit, rules, commands, pack; got a list"),
}  # fmt: skip


@pytest.mark.parametrize("name", NOT_VALID)
def test_what_yaml_allows_and_we_do_not_is_a_fault_with_its_line(tmp_path: Path, name: str) -> None:
    """Tags, anchors, aliases, merges and repeated keys are told with line and key."""
    content, line, key, words = NOT_VALID[name]
    found = check_file(written(tmp_path, content), UNITS)
    assert [f for f in found if (f.line, f.key) == (line, key) and words in f.text], found
    with pytest.raises(NotValid):
        load_case(written(tmp_path, content), UNITS)
    with pytest.raises(NotValid):
        load_unit(written(tmp_path, content))


def test_a_tag_runs_nothing(tmp_path: Path) -> None:
    """A tag that names a Python call is refused without being called."""
    mark = tmp_path / "ran"
    bomb = f"kind: case\nlevel: !!python/object/apply:pathlib.Path.touch [!!python/name:x {mark}]\n"
    path = written(tmp_path, bomb)
    assert check_file(path, UNITS)
    with pytest.raises(NotReadable):
        yaml_text.load_document(path)
    assert not mark.exists()


def test_an_alias_bomb_does_not_grow(tmp_path: Path) -> None:
    """Forty generations of aliases (3^39 values) are refused in well under a second."""
    path = written(tmp_path, ALIAS_BOMB)
    begin = time.process_time()
    faults = yaml_text.read_tree(path).faults
    assert time.process_time() - begin < 2.0  # s; it takes about 0.02
    assert sum("aliases" in f.text for f in faults) == 3 * 39


@pytest.mark.parametrize(
    "content",
    [
        "a: '" + "x" * 200_000 + "'",
        "a: " + "x " * 100_000,
        "a: |\n" + "  x\n" * 60_000,
        "x" * 200_000,
        "# c\n" * 60_000 + "kind: case\n",
        "\n" * 250_000,
        "kind: " + "9" * 200_000,
        "kind: " + "1" * 5000 + "e9",
        "? " * 100_000,
        "a: {" + "b, " * 4000 + "}",
        '"' + "\\u0041" * 40_000 + '": 1',
        "!" * 200_000,
        "&" + "a" * 200_000 + " b",
        "kind: case\n" + "k: 1\n" * 2400,
    ],
    ids=lambda c: c[:6].encode("unicode_escape").decode() + f" {len(c)}",
)
def test_a_large_odd_file_ends_soon(tmp_path: Path, content: str) -> None:
    """Files near the size limit end in words within seconds, and messages stay short."""
    path = written(tmp_path, content)
    begin = time.process_time()
    try:
        told = [str(f) for f in check_file(path, UNITS)]
    except NotReadable as error:
        told = [str(error)]
    assert time.process_time() - begin < 8.0  # s; shared machine
    assert told and all(len(line) < 600 + len(str(path)) for line in told)


def test_a_case_full_of_unknown_names_ends_soon(tmp_path: Path) -> None:
    """Thousands of unknown keys and structures are told, or their number is, within seconds."""
    keys = "".join(f"titel{n}: 1\n" for n in range(2000))
    names = "".join(f"  - tooth-4{n}\n" for n in range(2000))
    known = [f"tooth-{n}" for n in range(1000, 1200)]
    for more, expected in ((keys, 2000), ("more:\n" + names, 1)):
        path = written(tmp_path, TEXT + more)
        begin = time.process_time()
        assert sum(f.key.startswith(("titel", "more")) for f in check_file(path, UNITS)) == expected
        assert time.process_time() - begin < 8.0  # s; shared machine
    path = written(tmp_path, TEXT.replace("wanted:\n", "wanted:\n" + names))
    begin = time.process_time()
    (fault,) = [f for f in check_file(path, UNITS, known) if f.key == "wanted"]
    assert fault.text == "must hold 0 to 100 entries, got 2002"
    assert time.process_time() - begin < 8.0  # s; shared machine


@pytest.mark.skipif(os.name == "nt", reason="device files and pipes are of other systems")
def test_devices_pipes_and_folders_are_no_files(tmp_path: Path) -> None:
    """A folder, a pipe or an endless device is refused without reading from it."""
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    with pytest.raises(NotReadable, match="there is no such file"):
        yaml_text.read_text(pipe)
    with pytest.raises(NotReadable, match="there is no such file"):
        yaml_text.read_text(Path("/dev/zero"))
    with pytest.raises(NotReadable, match="is a folder, not a file"):
        yaml_text.read_text(tmp_path)


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_an_impossible_path_is_not_readable(name: str) -> None:
    """A path that no system can open is told, not passed on as another error."""
    with pytest.raises(NotReadable):
        yaml_text.read_text(Path(name))


IDS = frozenset({"tooth-48"})


def does_read(read: Callable[[], object]) -> bool:
    """Whether the reader takes the file; anything but `NotValid` passes through."""
    try:
        read()
    except NotValid:
        return False
    return True


def ends_well(path: Path) -> None:
    """Every reader gives a value, or raises `NotReadable` or `NotValid` with words."""
    try:
        faults = check_file(path, UNITS, IDS)
    except NotReadable:
        with pytest.raises(NotReadable):
            load_case(path, UNITS, IDS)
        return
    for fault in faults:
        assert fault.line >= 1 and fault.text
        assert str(fault).isprintable()
    readers: list[Callable[[], object]] = [
        lambda: load_case(path, UNITS, IDS),
        lambda: load_unit(path),
    ]
    assert [does_read(read) for read in readers].count(True) == (not faults)


LINES = TEXT.splitlines()
SNIPPETS = [
    "", "~", "[]", "{}", "[[[[]]]]", "*a", "&a", "!!set", "? a", "- - -", "|", ">-", "'", '"',
    "---", "...", "%", "@", "`", "0x10", "1_0", ".inf", "-.inf", ".nan", "1e400", "9" * 40, "true",
    "null", "2020-01-01", "12:30:45", "\t", "\u2028", "\x85", "\ufeff", "<<: {a: 1}", "a: b: c",
    "{a: }", "# x", "=", "0o17", "-0", "1e-400", '"\\x00"', '"\\ud800"', "\u202e", "tooth-48",
    "unit",
]  # fmt: skip
QUICK = settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@QUICK
@given(
    edits=st.lists(
        st.tuples(
            st.sampled_from(["value", "line", "drop", "double", "indent", "swap"]),
            st.integers(0, len(LINES) - 1),
            st.integers(0, len(LINES) - 1),
            st.sampled_from(SNIPPETS) | st.text(max_size=12),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_changed_lines_never_raise_anything_else(
    tmp_path: Path, edits: list[tuple[str, int, int, str]]
) -> None:
    """A shipped case with lines changed at random is read, not readable or not valid."""
    lines = list(LINES)
    for how, at, other, snippet in edits:
        at, other = at % max(1, len(lines)), other % max(1, len(lines))
        if how == "value":
            lines[at] = lines[at].split(":")[0] + ": " + snippet
        elif how == "line":
            lines[at] = snippet
        elif how == "drop" and len(lines) > 1:
            del lines[at]
        elif how == "double":
            lines.insert(other, lines[at])
        elif how == "indent":
            lines[at] = "  " + lines[at]
        else:
            lines[at], lines[other] = lines[other], lines[at]
    text = "\n".join(lines).encode("utf-8", "surrogatepass")
    ends_well(written(tmp_path, text))


@QUICK
@given(
    edits=st.lists(
        st.tuples(st.integers(0, len(TEXT) - 1), st.integers(0, 4), st.binary(max_size=4)),
        min_size=1,
        max_size=6,
    )
)
def test_changed_bytes_never_raise_anything_else(
    tmp_path: Path, edits: list[tuple[int, int, bytes]]
) -> None:
    """A shipped case with bytes changed at random is read, not readable or not valid."""
    raw = TEXT.encode("utf-8")
    for at, drop, put in edits:
        raw = raw[:at] + put + raw[at + drop :]
    ends_well(written(tmp_path, raw))


PLAIN = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["case", "unit", "40x40", "alder-bench", "lower-jaw", "tooth-48", "en"])
)  # fmt: skip
KEYS = st.sampled_from(
    ["schema_version", "kind", "id", "start", "unit", "fields", "regions", "travel", "beam",
     "lights", "required", "wanted", "title", "region", "field", "structure", "yaw_deg"]
) | st.text(max_size=6)  # fmt: skip
VALUES = st.recursive(
    PLAIN,
    lambda below: st.lists(below, max_size=3) | st.dictionaries(KEYS, below, max_size=4),
    max_leaves=12,
)


@QUICK
@given(kind=st.sampled_from(["case", "unit"]), more=st.dictionaries(KEYS, VALUES, max_size=8))
def test_wrong_types_anywhere_never_raise_anything_else(
    tmp_path: Path, kind: str, more: dict[str, object]
) -> None:
    """Any value of any type under any key ends in faults with words, never in another error."""
    import json

    content = json.dumps({**more, "kind": kind})
    ends_well(written(tmp_path, content.encode("utf-8", "surrogatepass")))

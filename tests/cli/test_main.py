"""The commands: their contract, exit codes and words."""

from __future__ import annotations

import json
import shutil

import pytest

from trainer.cli.common import DONE, FAULTY, LARGEST_SEED, UNREADABLE
from trainer.cli.main import main
from trainer.services.assets import MESHES, SCENARIOS
from trainer.services.file_check import schema_text


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Exit code, output and error output of a command."""
    code = main(words)
    out, err = capsys.readouterr()
    return code, out, err


def test_assess_json_keeps_its_contract(capsys):
    """`assess --json` prints every promised key, with the promised types."""
    code, out, _ = run(capsys, "assess", "lower-third-molar", "--json")
    data = json.loads(out)
    assert code == DONE
    assert data["all_required_inside"] is False
    assert data["setup"]["chin_height_mm"] == -42
    assert data["field"]["id"] == "40x40"
    assert data["advice"]
    assert {"sentence", "changes", "reaches_all"} <= set(data["advice"][0])
    required = [s for s in data["structures"] if s["required"]]
    assert "tooth-48" in {s["id"] for s in required}
    for s in data["structures"]:
        assert 0.0 <= s["inside_share"] <= 1.0
        assert s["direction"] in {"left", "right", "forward", "back", "up", "down"}
        assert isinstance(s["margin_mm"], float)


def test_following_the_printed_advice_brings_all_inside(capsys):
    """The first advice's changes, given to --set, make the assessment all inside."""
    _, out, _ = run(capsys, "assess", "lower-third-molar", "--json")
    changes = json.loads(out)["advice"][0]["changes"]
    words = [f"{k}={v}" for k, v in changes.items()]
    code, out, _ = run(capsys, "assess", "lower-third-molar", "--json", "--set", *words)
    data = json.loads(out)
    assert code == DONE
    assert data["all_required_inside"] is True
    assert data["advice"] == []


def test_assess_as_text_names_tooth_way_and_caution(capsys):
    """The text tells the cut tooth, a way to mend it, and the caution."""
    code, out, _ = run(capsys, "assess", "lower-third-molar")
    assert code == DONE
    assert "48" in out
    assert "Raise the chin support" in out
    assert "Training only" in out


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("chin_height_mm=999", "must be -60 to 40 mm, got 999"),
        ("chin_height_mm=tall", "must be a number, got 'tall'"),
        ("chin_height_mm=nan", "must be a finite number"),
        ("chin_height=3", "no control 'chin_height'"),
        ("yaw_deg", "must be key=value"),
        ("region=elbow", "must be one of lower-jaw"),
        ("field=9x9", "no '9x9'; it has 40x40"),
        ("arm_turned=maybe", "must be on or off"),
    ],
)
def test_bad_settings_are_told(word, said, capsys):
    """A wrong --set word gives exit 1 and a sentence that names what was expected."""
    code, out, err = run(capsys, "assess", "lower-third-molar", "--set", word)
    assert (code, out) == (FAULTY, "")
    assert said in err


def test_unknown_case_offers_the_nearest(capsys):
    """A mistyped case name gives exit 2 and offers the right one."""
    code, _, err = run(capsys, "assess", "lower-third-mular")
    assert code == UNREADABLE
    assert "lower-third-molar" in err
    assert "Traceback" not in err


def test_a_file_that_is_no_case_is_told_as_such(capsys, tmp_path):
    """A file that is there but has another ending is not said to be missing; exit 2."""
    path = tmp_path / "bin.log"
    path.write_bytes(b"\x00")
    code, _, err = run(capsys, "assess", str(path))
    assert code == UNREADABLE
    assert "must end in .yaml or .yml" in err and "no case or file" not in err


@pytest.mark.parametrize("seed", ["-1", "1000000", "1.5", "nan", ""])
@pytest.mark.parametrize(
    "words", [("anatomy", "--draw"), ("scout", "lower-third-molar", "--out", "x", "--seed")]
)
def test_a_seed_out_of_range_is_a_usage_fault(words, seed, capsys):
    """Seeds go from 0 to 999999, as in command lists; else exit 2 and a sentence."""
    with pytest.raises(SystemExit) as stop:
        main([*words, seed])
    assert stop.value.code == 2
    assert f"must be a whole number, 0 to 999999; got {seed!r}" in capsys.readouterr().err


def test_seeds_have_the_range_of_command_lists():
    """The command line's largest seed is the one of the files' schema."""
    seed = json.loads(schema_text("commands"))["properties"]["seed"]
    assert (seed["minimum"], seed["maximum"]) == (0, LARGEST_SEED)


def test_check_passes_all_shipped_files(capsys):
    """Every shipped case and unit file is without faults."""
    code, out, err = run(capsys, "check", str(SCENARIOS))
    assert (code, err) == (DONE, "")
    assert "no faults" in out


def test_check_names_file_line_and_expectation(capsys, tmp_path):
    """A fault is printed with file, line, key, what was expected and found; exit 1."""
    text = (SCENARIOS / "lower_third_molar.yaml").read_text(encoding="utf-8")
    path = tmp_path / "broken.yaml"
    path.write_text(text.replace("tooth-48-crown", "tooth-48-crwn"), encoding="utf-8")
    line = 1 + text.split("tooth-48-crown")[0].count("\n")
    code, out, _ = run(capsys, "check", str(path))
    assert code == FAULTY
    assert f"broken.yaml:{line}" in out
    assert "tooth-48-crown" in out


@pytest.mark.parametrize("content", [None, b"\x00\xff\x00", b"a: [1, 2"])
def test_check_of_what_cannot_be_read(content, capsys, tmp_path):
    """A missing, binary or broken file gives exit 2 and a sentence."""
    path = tmp_path / "file.yaml"
    if content is not None:
        path.write_bytes(content)
    code, _, err = run(capsys, "check", str(path))
    assert code == UNREADABLE
    assert "file.yaml" in err


def test_anatomy_prints_landmarks_teeth_and_volumes(capsys):
    """`anatomy --json` tells landmark coordinates, measured teeth and structure volumes."""
    code, out, _ = run(capsys, "anatomy", "--json", "--person", "sex=female")
    data = json.loads(out)
    assert code == DONE
    assert data["landmarks_mm"]["nasion"] == [0.0, -86.5, 24.5]
    # table 3.1: 46 is 11.0 mm wide (Ash & Nelson, second-hand)
    assert data["teeth"]["46"]["mesiodistal_mm"] == pytest.approx(11.0, abs=0.5)
    assert data["structures"]["condyle-left"]["volume_mm3"] > 300


def test_missing_head_is_told(capsys, monkeypatch, tmp_path):
    """Without the built head, a sentence says how to make it again; exit 2."""
    shutil.copy(MESHES / "manifest.json", tmp_path)
    monkeypatch.setattr("trainer.services.workbench.load_head", _load_from(tmp_path))
    code, _, err = run(capsys, "assess", "lower-third-molar")
    assert code == UNREADABLE
    assert "trainer build-head" in err


def _load_from(folder):
    from trainer.services.assets import load_head

    return lambda person, _folder: load_head(person, folder)


def test_usage_fault_is_exit_two(capsys):
    """A command without its case ends with exit code 2 and the usage."""
    with pytest.raises(SystemExit) as stop:
        main(["assess"])
    assert stop.value.code == 2
    assert "usage: trainer assess" in capsys.readouterr().err


def shipped_log(tmp_path):
    """A copy of the demo case's solution log."""
    path = tmp_path / "attempt.log"
    path.write_bytes((SCENARIOS / "solutions" / "lower_third_molar.log").read_bytes())
    return path


def test_replay_tells_course_summary_and_digest(capsys, tmp_path):
    """A true log gives exit 0, every event with its time, the 29 steps and the digest."""
    code, out, err = run(capsys, "replay", str(shipped_log(tmp_path)))
    assert (code, err) == (DONE, "")
    assert "Tom Rowan came in." in out
    assert "29 Quality programme: done." in out
    assert "effective dose about" in out and "Training only" in out
    digest = out.splitlines()[-1].removeprefix("Digest of all events: ")
    assert len(digest) == 64
    again = run(capsys, "replay", str(tmp_path / "attempt.log"))
    assert again == (code, out, err)


def test_replay_as_json_says_that_nothing_is_at_fault(capsys, tmp_path):
    """The data holds the verdict, the digest and no fault."""
    code, out, _ = run(capsys, "replay", str(shipped_log(tmp_path)), "--json")
    data = json.loads(out)
    assert code == DONE
    assert data["passed"] is True and data["fault"] is None
    assert len(data["events_sha256"]) == 64


@pytest.mark.parametrize("line", [2, 40])
def test_replay_names_the_line_that_was_altered(line, capsys, tmp_path):
    """One changed digit gives exit 1 and its line; what came before is told."""
    path = shipped_log(tmp_path)
    lines = path.read_bytes().split(b"\n")
    at = lines[line - 1].index(b'"at_s":') + 7
    changed = lines[line - 1][:at] + b"9" + lines[line - 1][at + 1 :]
    lines[line - 1] = changed
    path.write_bytes(b"\n".join(lines))
    code, out, err = run(capsys, "replay", str(path))
    assert code == FAULTY
    assert f"line {line}: has been changed" in err
    assert "The appointment is not finished." in out


def test_replay_reads_a_cut_log_up_to_the_cut(capsys, tmp_path):
    """A log that ends in the middle of a line is told up to there, with exit 1."""
    path = shipped_log(tmp_path)
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join(lines[:30]) + b"\n" + lines[30][:20])
    code, out, err = run(capsys, "replay", str(path))
    assert code == FAULTY
    assert "line 31: was not finished" in err
    assert "Tom Rowan came in." in out


@pytest.mark.parametrize("kind", ["altered", "taken off"])
def test_replay_names_line_1_when_the_header_is_not_true(kind, capsys, tmp_path):
    """A log with an altered or missing header gives exit 1 and line 1, and replays nothing."""
    path = shipped_log(tmp_path)
    header, rest = path.read_bytes().split(b"\n", 1)
    altered = header.replace(b"lower-third-molar", b"lower-third-mular")
    assert altered != header
    path.write_bytes(altered + b"\n" + rest if kind == "altered" else rest)
    code, out, err = run(capsys, "replay", str(path))
    assert (code, out) == (FAULTY, "")
    assert "attempt.log  line 1: the header is missing or has been changed" in err


def test_an_own_cases_log_is_replayed_with_the_cases_file(capsys, tmp_path):
    """A log of a case that is not shipped needs --case; without it the message names the option."""
    text = (SCENARIOS / "lower_third_molar.yaml").read_text(encoding="utf-8")
    case, log, listed = (tmp_path / name for name in ("my_molar.yaml", "my.log", "list.yaml"))
    case.write_text(text.replace("id: lower-third-molar", "id: my-molar"), encoding="utf-8")
    solution = (SCENARIOS / "solutions" / "lower_third_molar.yaml").read_text(encoding="utf-8")
    listed.write_text(
        solution.replace("case: lower-third-molar", "case: my-molar"), encoding="utf-8"
    )
    code, _, err = run(capsys, "play", str(case), "--commands", str(listed), "--out", str(log))
    assert (code, err) == (DONE, "")
    code, out, err = run(capsys, "replay", str(log))
    assert (code, out) == (UNREADABLE, "")
    assert "my-molar" in err and "--case FILE" in err
    code, out, err = run(capsys, "replay", str(log), "--case", str(case))
    assert (code, err) == (DONE, "")
    assert "Digest of all events" in out
    shipped = str(SCENARIOS / "lower_third_molar.yaml")
    code, _, err = run(capsys, "replay", str(log), "--case", shipped)
    assert code == FAULTY
    assert "line 1: the attempt is one at my-molar, not at lower-third-molar" in err


@pytest.mark.parametrize("content", [None, b"", b"not a log\n", b"\x00\xff"])
def test_replay_of_what_cannot_be_read(content, capsys, tmp_path):
    """A missing file, or one that is no log, gives exit 2 and a sentence."""
    path = tmp_path / "attempt.log"
    if content is not None:
        path.write_bytes(content)
    code, out, err = run(capsys, "replay", str(path))
    assert (code, out) == (UNREADABLE, "")
    assert "attempt.log" in err and "Traceback" not in err


def test_play_does_a_list_and_logs_it(capsys, tmp_path):
    """The shipped list, played, gives the shipped log and its summary; it is not written over."""
    words = (
        "play",
        "lower-third-molar",
        "--commands",
        str(SCENARIOS / "solutions" / "lower_third_molar.yaml"),
        "--out",
        str(tmp_path / "out.log"),
    )
    code, out, _ = run(capsys, *words)
    assert code == DONE
    assert "5 of 5 required structures are held" in out
    shipped = SCENARIOS / "solutions" / "lower_third_molar.log"
    assert (tmp_path / "out.log").read_bytes() == shipped.read_bytes()
    code, _, err = run(capsys, *words)
    assert code == FAULTY
    assert "is there already" in err


def test_play_says_what_is_missing(capsys):
    """Without a case, a list or a log to write, it names them."""
    code, _, err = run(capsys, "play", "lower-third-molar")
    assert code == FAULTY
    assert "--commands, --out missing" in err


def test_play_of_a_faulty_list_names_its_line(capsys, tmp_path):
    """A list with a fault gives exit 1 with file and line, and no log."""
    text = (SCENARIOS / "solutions" / "lower_third_molar.yaml").read_text(encoding="utf-8")
    path, out = tmp_path / "list.yaml", tmp_path / "out.log"
    path.write_text(text.replace("do: greet", "do: greed"), encoding="utf-8")
    line = 1 + text.split("do: greet")[0].count("\n")
    words = ("play", "lower-third-molar", "--commands", str(path), "--out", str(out))
    code, _, err = run(capsys, *words)
    assert code == FAULTY
    assert f"list.yaml:{line}" in err and "did you mean 'greet'" in err
    assert not out.exists()

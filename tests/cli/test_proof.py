"""The commands that judge cases: exit codes, words, files."""

from __future__ import annotations

import json

import pytest

from trainer.cli.common import DONE, FAULTY, UNREADABLE
from trainer.cli.main import main
from trainer.services.assets import SCENARIOS

CASE = "lower-third-molar"


def run(capsys, *words):
    """Exit code, output and error output of a command."""
    code = main(words)
    out, err = capsys.readouterr()
    return code, out, err


def test_a_proved_case_is_done(capsys):
    """The text tells the proof, with exit code 0 and the caution."""
    code, out, err = run(capsys, "prove", CASE, "--draws", "50")
    assert (code, err) == (DONE, "")
    assert "Proved: the case can be solved" in out and "Training only" in out


def test_two_cases_make_a_table_with_progress(capsys):
    """Several cases are told as one table; progress goes to the error output."""
    code, out, err = run(capsys, "prove", CASE, "one-jaw-joint", "--draws", "50")
    assert code == DONE
    assert "2 of 2 cases proved." in out and "2 of 2 cases" in err


def test_own_scatter_and_seed_count(capsys):
    """A spread and a seed that were given stand in the data, and the probability follows them."""
    words = ("prove", CASE, "--json", "--draws", "200", "--seed", "4")
    _, out, _ = run(capsys, *words, "--scatter", "height_mm=0.5", "pitch_deg=1")
    data = json.loads(out)
    assert data["seed"] == 4
    first, second = data["cases"][0]["scatters"]
    assert (first["id"], first["spreads"]["height_mm"], first["spreads"]["pitch_deg"]) == (
        "own", 0.5, 1.0,
    )  # fmt: skip
    assert first["probability"] > 0.9 and second["id"] == "after-scouts"


def test_a_case_that_is_not_fair_gives_exit_one(capsys, tmp_path):
    """A start that passes already is told, and the exit code is 1."""
    path = tmp_path / "easy.yaml"
    text = (SCENARIOS / "lower_third_molar.yaml").read_text(encoding="utf-8")
    text = text.replace("chin_height_mm: -42", "chin_height_mm: -27")
    path.write_text(text.replace("id: lower-third-molar", "id: easy"), encoding="utf-8")
    code, out, _ = run(capsys, "prove", str(path), "--draws", "20")
    assert code == FAULTY
    assert "NOT proved" in out and "there is nothing to do" in out


def test_a_missing_case_gives_exit_two(capsys):
    """A mistyped name is told with the nearest one, and the exit code is 2."""
    code, out, _ = run(capsys, "prove", "lower-third-mular", "--draws", "20")
    assert code == UNREADABLE
    assert "did you mean 'lower-third-molar'" in out and "Traceback" not in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--draws", "0"), "must be a whole number, 1 to 1000000; got '0'"),
        (("--processes", "none"), "must be a whole number, 1 to"),
        (("--scatter", "pitch_deg"), "must be KEY=VALUE, got 'pitch_deg'"),
        (("--scatter", "pitch_deg=wide"), "pitch_deg must be a number, got 'wide'"),
    ],
)
def test_words_that_make_no_sense_are_usage_faults(words, said, capsys):
    """Numbers out of range and half a pair give exit code 2 and a sentence."""
    with pytest.raises(SystemExit) as stop:
        main(["prove", CASE, *words])
    assert stop.value.code == 2
    assert said in capsys.readouterr().err


def test_an_unknown_spread_is_told(capsys):
    """A key that is no spread is named with those there are, and the exit code is 1."""
    code, out, err = run(capsys, "prove", CASE, "--scatter", "yew_deg=3")
    assert (code, out) == (FAULTY, "")
    assert "yew_deg: there is no such spread; there are pitch_deg" in err


def test_the_fields_are_drawn_and_told(capsys, tmp_path):
    """The picture is saved; the table, the ranges and the caution are printed."""
    path = tmp_path / "fields.png"
    code, out, err = run(capsys, "fields", CASE, "--out", str(path), "--draws", "40")
    assert code == DONE and path.read_bytes().startswith(b"\x89PNG")
    assert "40x40     lower jaw" in out and f"Saved {path}" in out and "Training only" in out
    assert "140x60" in err


def test_a_picture_that_cannot_be_saved_is_told(capsys, tmp_path):
    """A folder that is not there gives exit code 2 and no traceback."""
    path = tmp_path / "none" / "fields.png"
    code, _, err = run(capsys, "fields", CASE, "--out", str(path), "--draws", "20")
    assert code == UNREADABLE
    assert str(path) in err and "Traceback" not in err

"""Proofs in words and as data."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from trainer.services.cautions import SHORT_CAUTION
from trainer.services.proof import ProofOrder, ProvedCase, prove_library
from trainer.services.proof_report import library_data, library_text, proof_data, proof_text

ORDER = ProofOrder(draws=100)


@pytest.fixture(scope="module")
def found():
    """Three cases: the last name is of none."""
    return prove_library(["one-jaw-joint", "both-joints", "no-case"], ORDER)


def test_a_proof_is_told_whole(found):
    """Verdict, setup with play in the patient's words, fields, probability, difficulty, caution."""
    text = proof_text(found[0])
    for part in (
        "Left jaw joint (one-jaw-joint, unit alder-bench, level 3)",
        "Proved: the case can be solved, its start fails, and its field fits.",
        "Head yaw: 0°; ",
        "° face right (to the field's edge), ",
        "mm up (to the field's edge)",
        "60x60    joints     holds, ",
        "<- ordered",
        "95 % interval",
        "Difficulty: easy.",
        "own working values, no source",
        "it forecasts no person's work",
    ):
        assert part in text
    assert text.endswith(SHORT_CAUTION)


def test_every_run_has_its_setup(found):
    """Two fields have two best setups in the text and in the data."""
    assert "Best setup found for run 2" in proof_text(found[1])
    data = proof_data(found[1])
    first, second = (run["best_setup"]["field_sideways_mm"] for run in data["runs"])
    assert first > 0 > second


def test_the_table_goes_by_the_cases_names(found):
    """Cases stand in the order of their ids, whatever the order asked; what failed comes below."""
    text = library_text(found, ORDER)
    assert text.index("\nboth-joints") < text.index("\nno-case") < text.index("\none-jaw-joint")
    assert "2 of 3 cases proved." in text
    assert "no-case: NOT proved.\n  - no case or file 'no-case'" in text
    assert "from 100 draws a case (seed 1)" in text
    assert text.endswith(SHORT_CAUTION)


def test_the_data_keep_their_contract(found):
    """The JSON holds caution, meaning, bounds and for every case what was found or what failed."""
    data = json.loads(json.dumps(library_data(found, ORDER)))
    assert data["caution"] == SHORT_CAUTION and data["draws"] == 100
    assert data["difficulty_from"]["easy"] == 0.9
    both, missing, one = data["cases"]
    assert (both["case"], one["case"]) == ("both-joints", "one-jaw-joint")
    assert missing["proved"] is False and "no-case" in missing["error"]
    assert one["proved"] is True and one["faults"] == []
    assert one["start_slack_mm"] < 0.0 < one["slack_mm"]
    assert {f["id"] for f in one["fields"]} >= {"60x60", "140x60"}
    play = one["runs"][0]["free_play"]["chin_height_mm"]
    assert play["low"] < one["runs"][0]["best_setup"]["chin_height_mm"] < play["high"]
    first, second = one["scatters"]
    assert (first["id"], second["id"]) == ("without-scouts", "after-scouts")
    for scatter in (first, second):
        low, high = scatter["interval_95"]
        assert low <= scatter["probability"] <= high
        assert scatter["held"] == round(scatter["probability"] * scatter["draws"])
        assert set(scatter["lost"]) == {
            "condyle-left", "condylar-neck-left", "fossa-left", "eminence-left",
        }  # fmt: skip


def test_a_case_that_is_not_fair_says_so_first(found):
    """Faults stand where the verdict would stand, and what is lacking is told."""
    proof = replace(found[0].proof, faults=("It does not do.",), successes=(), plays=())
    proof = replace(proof, slack_mm=-2.0)
    text = proof_text(replace(found[0], proof=proof))
    assert "NOT proved:\n  - It does not do." in text
    assert "2 mm of the margins asked are lacking" in text and "Difficulty" not in text
    assert proof_data(replace(found[0], proof=proof))["difficulty"] is None


def test_a_case_without_a_proof_says_why():
    """The error stands under the name."""
    text = proof_text(ProvedCase("odd", error="Nothing there."))
    assert text.startswith("odd: cannot be proved.\nNothing there.")

"""The command that records a volume."""

from __future__ import annotations

from pathlib import Path

import nibabel
import numpy as np
import pytest
from helpers.heads import coarse_phantom

from trainer.cli.main import main
from trainer.services.volumes import record, scan
from trainer.services.volumes.scan import Effort

CASE = "lower-third-molar"


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Few views, coarse voxels and a coarse head."""
    effort = Effort(views_per_turn=30, most_rays=3.0e4, finest_head_mm=3.0)
    monkeypatch.setattr(scan, "FOR_LEARNERS", effort)
    monkeypatch.setattr(record, "stored_phantom", lambda person, *_: coarse_phantom(person))


def test_a_volume_is_recorded_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The file opens in an independent reader; what was ordered and computed is printed."""
    out = tmp_path / "field.nii.gz"
    words = ["volume", CASE, "--out", str(out), "--voxel", "150", "--spacing", "3", "--low-dose"]
    assert main([*words, "--set", "chin_height_mm=-25"]) == 0
    image = nibabel.load(out)
    assert image.ndim == 3
    assert image.header.get_zooms()[0] == pytest.approx(1.27, abs=0.05)
    assert np.asarray(image.dataobj).max() > 500.0
    told = capsys.readouterr().out
    assert "Ordered: 150 µm. Computed coarser" in told
    assert "30 of 30 views" in told and "Not a medical device" in told


def test_a_place_that_cannot_be_written_is_told_before_the_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A wrong ending and a folder that is not there."""
    assert main(["volume", CASE, "--out", str(tmp_path / "field.raw")]) == 1
    assert main(["volume", CASE, "--out", str(tmp_path / "no" / "field.nii")]) == 2
    assert "there is no folder" in capsys.readouterr().err


@pytest.mark.slow
def test_a_panoramic_picture_with_its_dose(tmp_path, capsys) -> None:
    """Saved as PNG; told with what is not in it, its dose with source, and the caution."""
    out = tmp_path / "panorama.png"
    assert main(["panorama", "panoramic-overview", "--tongue-low", "--out", str(out)]) == 0
    assert out.read_bytes().startswith(b"\x89PNG")
    told = capsys.readouterr().out
    for words in ("Simulated panoramic picture", "9 to 24 µSv", "Lurie", "Training only"):
        assert words in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["panorama", "both-jaws"], "has no sharp layer"),
        (["volume", "panoramic-overview"], "no volumes"),
        (["scout", "panoramic-overview"], "no scouts"),
    ],
)
def test_what_a_unit_does_not_make_is_refused(arguments, words, tmp_path, capsys) -> None:
    """Before any work, with a sentence and nothing written."""
    name = {"panorama": "a.png", "volume": "a.nii.gz", "scout": "folder"}[arguments[0]]
    assert main([*arguments, "--out", str(tmp_path / name)]) == 1
    assert words in capsys.readouterr().err
    assert not (tmp_path / name).exists()

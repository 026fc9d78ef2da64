"""Volume files, read back by the library that others use."""

from __future__ import annotations

import json

import numpy as np
import pytest

from trainer.anatomy.head.phantom import PHANTOM_MATERIALS
from trainer.anatomy.materials import MATERIALS
from trainer.cli.common import DONE, FAULTY, UNREADABLE
from trainer.cli.main import main
from trainer.errors import TrainerError
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume, Phantom
from trainer.services.volume_io import density_g_cm3, save_phantom

nibabel = pytest.importorskip("nibabel")


@pytest.fixture
def phantom() -> Phantom:
    """A small made-up volume: one enamel voxel up left behind, a jaw of one dentine voxel."""
    skull = np.zeros((4, 5, 6), np.uint8)
    skull[3, 4, 5] = PHANTOM_MATERIALS.index("enamel")
    jaw = np.full((1, 1, 2), PHANTOM_MATERIALS.index("dentine"), np.uint8)
    jaw[0, 0, 0] = 0
    origin = np.array([-1.25, -10.0, 20.0])
    return Phantom(
        LabelVolume(Frame.SKULL, skull, origin, 0.5, PHANTOM_MATERIALS),
        LabelVolume(Frame.MANDIBLE, jaw, origin + [0.5, 1.0, 0.0], 0.5, PHANTOM_MATERIALS),
    )


def test_places_survive_the_file(phantom, tmp_path):
    """A voxel is found at its place: LPS x and y change sign in NIfTI's RAS."""
    path = tmp_path / "head.nii.gz"
    save_phantom(phantom, path)
    image = nibabel.load(path)
    assert nibabel.aff2axcodes(image.affine) == ("L", "P", "S")
    np.testing.assert_allclose(image.header.get_zooms(), [0.5, 0.5, 0.5])
    labels = np.asarray(image.dataobj)
    assert labels.dtype == np.uint8 and labels.shape == (6, 5, 4)
    (voxel,) = np.argwhere(labels == PHANTOM_MATERIALS.index("enamel"))
    # LPS (1.25, -8.0, 21.5): 1.25 to the left, 8 to the front, 21.5 up
    np.testing.assert_allclose(nibabel.affines.apply_affine(image.affine, voxel), [-1.25, 8, 21.5])
    (voxel,) = np.argwhere(labels == PHANTOM_MATERIALS.index("dentine"))
    np.testing.assert_allclose(nibabel.affines.apply_affine(image.affine, voxel), [0.25, 9, 20])
    assert image.header.get_xyzt_units()[0] == "mm"
    np.testing.assert_allclose(image.get_qform(), image.affine, atol=1e-6)
    assert b"not a medical device" in bytes(image.header["descrip"])


def test_densities_stand_beside(phantom, tmp_path):
    """The density file has the same place and the table's density in every voxel."""
    files = save_phantom(phantom, tmp_path / "head.nii.gz")
    assert [f.name for f in files] == [
        "head.nii.gz",
        "head-density.nii.gz",
        "head-materials.json",
    ]
    labels, density = nibabel.load(files[0]), nibabel.load(files[1])
    np.testing.assert_array_equal(labels.affine, density.affine)
    found = np.asarray(density.dataobj)
    for label in np.unique(np.asarray(labels.dataobj)):
        expected = MATERIALS[PHANTOM_MATERIALS[label]].density_g_cm3
        np.testing.assert_allclose(found[np.asarray(labels.dataobj) == label], expected, rtol=1e-6)


def test_the_list_says_what_labels_mean(phantom, tmp_path):
    """The list beside names every label with density, elements and source, and the caution."""
    *_, listed = save_phantom(phantom, tmp_path / "head.nii")
    data = json.loads(listed.read_text(encoding="utf-8"))
    assert [row["material"] for row in data["labels"]] == list(PHANTOM_MATERIALS)
    assert [row["label"] for row in data["labels"]] == list(range(len(PHANTOM_MATERIALS)))
    assert all(sum(r["mass_fractions"].values()) == pytest.approx(1, abs=1e-4)
               for r in data["labels"])  # fmt: skip
    assert "Training only" in data["caution"]
    assert (tmp_path / "head-density.nii").exists()


def test_the_same_bytes_on_every_run(phantom, tmp_path):
    """Two files of one phantom are equal byte for byte."""
    (tmp_path / "other").mkdir()
    one, *_ = save_phantom(phantom, tmp_path / "head.nii.gz")
    two, *_ = save_phantom(phantom, tmp_path / "other" / "head.nii.gz")
    assert one.read_bytes() == two.read_bytes()


def test_density_of_air_is_not_zero(phantom):
    """Label 0 has the density of dry air, 0.001205 g/cm3 (NIST)."""
    assert density_g_cm3(phantom.skull)[0, 0, 0] == pytest.approx(0.001205)


@pytest.mark.parametrize("name", ["head.png", "head", ".nii.gz", "head.nii.zip"])
def test_other_endings_are_refused(phantom, tmp_path, name):
    """A name that is no volume's is refused and nothing is written."""
    with pytest.raises(TrainerError, match=r"must end in \.nii\.gz or \.nii"):
        save_phantom(phantom, tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_the_command_writes_the_head(tmp_path, capsys):
    """`anatomy --phantom` writes labels, densities and list, in the spacing asked for."""
    path = tmp_path / "woman.nii.gz"
    code = main(["anatomy", "--phantom", str(path), "--spacing", "4", "--person", "sex=female"])
    assert code == DONE
    assert str(path) in capsys.readouterr().out
    image = nibabel.load(path)
    assert image.header.get_zooms() == (4.0, 4.0, 4.0)
    labels = np.asarray(image.dataobj)
    assert set(np.unique(labels)) == set(range(len(PHANTOM_MATERIALS)))
    # mean woman: braincase above the ears, in the midline (first axis runs to the patient's left)
    x, y, z = np.round(np.linalg.inv(image.affine)[:3] @ [2.0, 0.0, 60.0, 1.0]).astype(int)
    assert PHANTOM_MATERIALS[labels[x, y, z]] == "brain"


def test_the_command_refuses_bad_values(tmp_path, capsys):
    """A wrong ending or spacing gives exit code 1, one sentence and no file."""
    assert main(["anatomy", "--phantom", str(tmp_path / "head.png")]) == FAULTY
    assert "must end in" in capsys.readouterr().err
    word = str(tmp_path / "head.nii.gz")
    assert main(["anatomy", "--phantom", word, "--spacing", "0.01"]) == FAULTY
    assert "0.2 to 5" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_missing_folder_is_told_before_the_work(tmp_path, capsys, monkeypatch):
    """Without the folder the command ends with exit code 2, before any head is made."""
    monkeypatch.setattr(
        "trainer.services.head_store.stored_phantom", lambda *_: pytest.fail("made")
    )
    path = tmp_path / "nowhere" / "head.nii.gz"
    assert main(["anatomy", "--phantom", str(path)]) == UNREADABLE
    assert f"there is no folder {path.parent}" in capsys.readouterr().err

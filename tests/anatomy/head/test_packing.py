"""Pieces as arrays and back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trainer.anatomy.head.packing import STORED_STEP_MM, Pieces, pack, unpack
from trainer.anatomy.head.structures import NamedSolid, structure_of
from trainer.anatomy.shapes.implicit import sphere
from trainer.anatomy.shapes.meshing import surface
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, Tissue
from trainer.models.structures import StructureKind

BALL = sphere([1.0, 2.0, 3.0], 4.0)


def some_pieces() -> Pieces:
    """Two surfaces, one of which follows the jaw, and a structure."""
    mesh = surface(BALL, 1.0)
    vertices = mesh.vertices_mm.astype(np.float32)
    bone = DisplayPart("bone", Tissue.BONE, Frame.MANDIBLE, vertices, mesh.faces)
    share = np.linspace(0, 1, len(vertices)).astype(np.float32)
    skin = DisplayPart("skin", Tissue.SKIN, Frame.SKULL, vertices, mesh.faces, share)
    solid = NamedSolid("ball", "the ball", StructureKind.ORGAN, Side.LEFT, Frame.SKULL, BALL)
    structure, _ = structure_of(solid)
    return Pieces((bone, skin), (bone,), {"ball": structure}, {"ball": replace(bone, id="ball")})


def test_pieces_come_back_to_the_stored_step():
    """Ids, kinds, faces, shares and weights are the same, positions to half a stored step."""
    before = some_pieces()
    after = unpack(pack(before))
    assert [p.id for p in after.fine] == ["bone", "skin"]
    for a, b in zip((*before.fine, *before.coarse), (*after.fine, *after.coarse), strict=True):
        assert (a.tissue, a.frame) == (b.tissue, b.frame)
        np.testing.assert_array_equal(a.faces, b.faces)
        np.testing.assert_allclose(a.vertices_mm, b.vertices_mm, atol=STORED_STEP_MM / 2 + 1e-6)
        assert (a.jaw_share is None) == (b.jaw_share is None)
    np.testing.assert_array_equal(after.fine[1].jaw_share, before.fine[1].jaw_share)
    a, b = before.structures["ball"], after.structures["ball"]
    assert (a.name, a.kind, a.side, a.frame) == (b.name, b.kind, b.side, b.frame)
    assert (a.cell_mm, a.volume_mm3) == (b.cell_mm, b.volume_mm3)
    np.testing.assert_array_equal(a.weights, b.weights)
    np.testing.assert_allclose(a.samples_mm, b.samples_mm, atol=STORED_STEP_MM / 2 + 1e-9)
    np.testing.assert_allclose(a.hull_mm, b.hull_mm, atol=STORED_STEP_MM / 2 + 1e-9)
    assert set(after.marks) == {"ball"}


def test_packing_twice_changes_nothing():
    """What has been rounded once stays as it is: equal arrays from then on."""
    once = pack(unpack(pack(some_pieces())))
    twice = pack(unpack(once))
    assert once.keys() == twice.keys()
    for name, array in once.items():
        np.testing.assert_array_equal(array, twice[name])


def test_nothing_packs_too():
    """Empty pieces come back empty."""
    after = unpack(pack(Pieces((), (), {}, {})))
    assert (after.fine, after.coarse, dict(after.structures), dict(after.marks)) == ((), (), {}, {})

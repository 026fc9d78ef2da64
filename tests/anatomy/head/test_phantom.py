"""The head in voxels: the right material at the right place, and as much as was modelled."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import binary_dilation

from trainer.anatomy.bones.canal import canal_path
from trainer.anatomy.bones.mandible import CONDYLE_MM3, mandible, mandible_structures
from trainer.anatomy.head.phantom import (
    PHANTOM_MATERIALS,
    SKIN_MM,
    build_phantom,
    mandible_labels,
    skull_labels,
    teeth_together,
    volumes,
)
from trainer.anatomy.head.reference import SOLIDS, reference
from trainer.anatomy.head.solids import Solids, mirror_image
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.implicit import Shape, both_sides
from trainer.anatomy.shapes.voxels import VoxelGrid
from trainer.anatomy.soft.skin import skin, skin_points
from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.anatomy.teeth.tooth_measures import front_outer_cusp
from trainer.errors import TrainerError
from trainer.models.frames import Frame, Side
from trainer.models.images import LabelVolume, Phantom
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Jaw, Mouth, Person, Worn
from trainer.services.assets import load_head

BONES = {m for m in PHANTOM_MATERIALS if "bone" in m}
HARD = BONES | {"enamel", "dentine"}
TOOTH = {"enamel", "dentine", "pulp"}


def crop(lower, upper, spacing: float) -> VoxelGrid:
    """A grid over a box on the patient's left."""
    low = np.asarray(lower, float)
    x, y, z = np.ceil((np.asarray(upper) - low) / spacing).astype(int) + 1
    return VoxelGrid(low, spacing, (int(z), int(y), int(x)))


def named(*materials: str) -> np.ndarray:
    """Labels of the materials."""
    return np.array([PHANTOM_MATERIALS.index(m) for m in materials])


def at(labels: np.ndarray, origin, spacing: float, point) -> str:
    """The material of the voxel round a point."""
    x, y, z = np.round((np.asarray(point) - origin) / spacing).astype(int)
    return PHANTOM_MATERIALS[labels[z, y, x]]


def tooth_of(person: Person, fdi: int) -> Tooth:
    """A tooth of the mean man or woman."""
    return next(t for t in dentition(person) if t.fdi == fdi)


def solids_of(person: Person) -> Solids:
    """The person's solids from the shipped reference."""
    return Solids(person, reference())


class ExactSolids(Solids):
    """The same straight from the implicit model, as the reference was made."""

    def named(self, name: str) -> Shape:
        """Asked point by point."""
        return head_warp(self.person).shape(both_sides(SOLIDS[name][0]()))

    def process_field(self, jaw: Jaw) -> Shape:
        """Not sampled."""
        return self.process(jaw)

    def mandible(self) -> Shape:
        """Of the exact body."""
        return mandible(self.person)

    def mandible_field(self) -> Shape:
        """Not sampled."""
        return self.mandible()


@pytest.fixture(scope="module")
def head() -> Phantom:
    """The mean man, coarsely."""
    return build_phantom(MEAN_MAN, 2.0)


@pytest.fixture(scope="module")
def molar() -> tuple[VoxelGrid, np.ndarray]:
    """The left lower first molar in its socket, finely."""
    solid = tooth_of(MEAN_MAN, 36).solid
    grid = crop(solid.lower_mm - 1.5, solid.upper_mm + 1.0, 0.25)
    return grid, mandible_labels(solids_of(MEAN_MAN), grid)


def material_at(volume: LabelVolume, point) -> str:
    """The material of a volume's voxel round a point [mm]."""
    return at(volume.labels, volume.origin_mm, volume.spacing_mm, point)


def test_known_points_hold_their_material(head):
    """Braincase, sinus, throat, vertebra and outside hold brain, air, air, bone and air."""
    skull = head.skull
    assert skull.frame is Frame.SKULL
    assert material_at(skull, [10.0, 0.0, 60.0]) == "brain"
    assert material_at(skull, [-1.0, -10.0, 90.0]) == "brain"
    for side in (-1.0, 1.0):
        assert material_at(skull, [side * 28.0, -55.0, -12.0]) == "air"  # maxillary sinus
    assert material_at(skull, [1.0, -19.0, -90.0]) == "air"  # throat
    assert material_at(skull, [1.0, -2.6, -72.6]) == "spongy bone of the neck"  # body of C3
    corner = skull.labels[0, 0, 0], skull.labels[-1, -1, -1], skull.labels[-1, 0, -1]
    assert [PHANTOM_MATERIALS[c] for c in corner] == ["air"] * 3
    cheek = starter_landmarks(MEAN_MAN)["gonion-left"] + [4.0, -10.0, 10.0]
    assert material_at(skull, cheek) == "soft tissue"


def test_the_skull_volume_leaves_the_lower_jaw_as_soft_tissue(head):
    """Where the lower jaw's volume holds bone the skull's holds soft tissue, but for 0.5 %."""
    skull, jaw = head.skull, head.mandible
    assert jaw.frame is Frame.MANDIBLE
    step = np.round((jaw.origin_mm - skull.origin_mm) / 2.0).astype(int)
    np.testing.assert_allclose(skull.origin_mm + 2.0 * step, jaw.origin_mm, atol=1e-9)
    there = skull.labels[
        tuple(slice(o, o + n) for o, n in zip(step[::-1], jaw.labels.shape, strict=True))
    ]
    bone = np.isin(jaw.labels, named(*HARD))
    assert bone.sum() > 5000
    assert np.isin(there[bone], named(*HARD)).mean() <= 0.005
    assert np.isin(there[bone], named("soft tissue", "skin")).mean() > 0.98


def test_the_closed_head_holds_both_parts(head):
    """With the teeth together the jaw's voxels stand in the skull's volume, the rest unchanged."""
    whole = teeth_together(head)
    jaw = head.mandible
    count = np.bincount(whole.labels.ravel(), minlength=len(PHANTOM_MATERIALS))
    own = named("spongy bone of the mandible")[0]
    assert count[own] == (jaw.labels == own).sum() > 0
    changed = whole.labels != head.skull.labels
    assert 0 < changed.sum() <= (jaw.labels > 0).sum()
    np.testing.assert_array_equal(np.isin(whole.labels[changed], np.unique(jaw.labels)), True)
    assert whole.frame is Frame.SKULL


def test_left_and_right_teeth_lie_where_they_were_modelled(head):
    """On both sides the voxels of a tooth are those whose centres its own solid holds."""
    jaw = head.mandible
    for fdi in (33, 43, 36, 46):  # the right ones have solids of their own
        solid = tooth_of(MEAN_MAN, fdi).solid
        z, y, x = np.nonzero(np.isin(jaw.labels, named(*TOOTH)))
        centres = jaw.origin_mm + 2.0 * np.stack([x, y, z], axis=1)
        shape = jaw.labels.shape
        lattice = np.stack(np.unravel_index(np.arange(jaw.labels.size), shape)[::-1], axis=1)
        points = jaw.origin_mm + 2.0 * lattice
        near = np.all((points > solid.lower_mm) & (points < solid.upper_mm), axis=1)
        inside = points[near][solid(points[near]) < 0.0]
        assert len(inside) > 20
        found = {tuple(c) for c in np.round(centres, 6)}
        assert all(tuple(p) in found for p in np.round(inside, 6))


def test_left_is_left(head):
    """The volume's x centres run evenly from the patient's right to the left."""
    for volume in (head.skull, head.mandible):
        n = volume.labels.shape[2]
        assert n % 2 == 0
        assert volume.origin_mm[0] == pytest.approx(-(n - 1) / 2.0 * 2.0)
        np.testing.assert_array_equal(volume.labels, volume.labels[:, :, ::-1])


def test_the_brain_space_has_the_size_of_a_mans(head):
    """Intracranial space 1200 to 1700 cm3 (adult men, from memory: anatomy textbooks)."""
    cm3 = (head.skull.labels == named("brain")[0]).sum() * 2.0**3 / 1000.0
    assert 1200.0 < cm3 < 1700.0


def test_skin_lies_outermost(head):
    """Just below the surface of the forehead lies skin, four millimetres deep soft tissue."""
    grid = crop([0.25, -106.0, 40.0], [8.0, -80.0, 60.0], 0.25)
    labels = skull_labels(solids_of(MEAN_MAN), grid)
    y = grid.axis_mm(1)
    row = labels[40, :, 8]
    first = int(np.argmax(row > 0))
    thick = (row == named("skin")[0]).sum() * 0.25
    assert PHANTOM_MATERIALS[row[first]] == "skin"
    assert thick == pytest.approx(SKIN_MM, abs=0.5)
    assert PHANTOM_MATERIALS[row[np.argmin(np.abs(y - y[first] - 3.5))]] == "soft tissue"
    assert skin()(np.array([[grid.axis_mm(0)[8], y[first], grid.axis_mm(2)[40]]]))[0] < 0.0
    assert y[first] < skin_points()["sellion"][1] + 10.0


def test_the_molar_has_pulp_dentine_and_enamel(molar):
    """Tooth 36 has pulp in its chamber, dentine round it, enamel over cusps and none on roots."""
    grid, labels = molar
    tooth = tooth_of(MEAN_MAN, 36)

    def here(point) -> str:
        return at(labels, grid.origin_mm, grid.spacing_mm, point)

    up = tooth.rotation[:, 2]
    chamber = tooth.origin_mm + 0.08 * tooth.size.crown_mm * up
    assert tooth.pulp(chamber[None])[0] < 0.0
    assert here(chamber) == "pulp"
    cusp = front_outer_cusp(tooth)
    assert here(cusp - 0.6 * up) == "enamel"
    assert here(cusp - 4.0 * up) == "dentine"
    for root in tooth.roots:
        middle = root.axis_mm[5] + 0.75 * root.half_mm[5, 1] * tooth.rotation[:, 1]
        assert here(middle) == "dentine"
    assert not np.isin(labels[grid.axis_mm(2) < tooth.origin_mm[2] - 3.0], named("enamel")).any()


def test_enamel_is_thick_over_the_cusp_and_thin_at_the_neck(molar):
    """Enamel is 1.5 to 2.8 mm over the cusp, 0.5 to 1.6 on the side (textbooks, from memory)."""
    grid, labels = molar
    tooth = tooth_of(MEAN_MAN, 36)
    up, out = tooth.rotation[:, 2], tooth.rotation[:, 1]

    def thickness(start, way) -> float:
        steps = np.arange(-1.0, 5.0, 0.05)
        row = [at(labels, grid.origin_mm, grid.spacing_mm, start + s * way) for s in steps]
        first = row.index("enamel")
        return 0.05 * (row[first:].index("dentine"))

    assert 1.5 < thickness(front_outer_cusp(tooth) + 0.2 * up, -up) < 2.8
    side = tooth.origin_mm + 0.5 * tooth.size.crown_mm * up + 5.3 * out
    assert 0.5 < thickness(side, -out) < 1.6


def test_the_socket_has_a_gap_and_a_dense_wall(molar):
    """Round the roots lie first soft tissue, then dense bone, then spongy bone."""
    grid, labels = molar
    tooth = tooth_of(MEAN_MAN, 36)
    d = tooth.solid(grid.points_mm((slice(None),) * 3)).reshape(labels.shape)
    deep = (grid.axis_mm(2) < tooth.origin_mm[2] - 6.0)[:, None, None]
    gap = deep & (d > 0.0) & (d < 0.2)
    wall = deep & (d > 0.25) & (d < 0.55)
    beyond = deep & (d > 0.7) & (d < 1.2)
    assert np.isin(labels[gap], named("soft tissue")).mean() > 0.99
    assert np.isin(labels[wall], named("cortical bone")).mean() > 0.95
    assert np.isin(labels[beyond], named("spongy bone of the mandible")).mean() > 0.3


@pytest.mark.parametrize("fdi", [31, 36])
def test_lower_teeth_have_their_volume(fdi, molar):
    """Voxels of a tooth add up to the built structure's volume within 2 %."""
    solid = tooth_of(MEAN_MAN, fdi).solid
    grid, labels = molar
    if fdi != 36:
        grid = crop(solid.lower_mm - 0.5, solid.upper_mm + 0.5, 0.25)
        labels = mandible_labels(solids_of(MEAN_MAN), grid)
    own = solid(grid.points_mm((slice(None),) * 3)).reshape(labels.shape) < 0.0
    voxels = (own & np.isin(labels, named(*TOOTH))).sum() * 0.25**3
    built = load_head(MEAN_MAN).head.structure(f"tooth-{fdi}").volume_mm3
    assert voxels == pytest.approx(built, rel=0.02)


def test_the_condyle_has_its_volume():
    """The condylar head is bone throughout, 691 mm3 (Tecco et al., BMC Med. Imaging 2010) +-1 %.

    Read from a field, one voxel in a thousand at its surface may miss.
    """
    condyle = mandible_structures(MEAN_MAN)["condyle-left"]
    grid = crop(condyle.lower_mm - 1.0, condyle.upper_mm + 1.0, 0.4)
    labels = mandible_labels(solids_of(MEAN_MAN), grid)
    own = condyle(grid.points_mm((slice(None),) * 3)).reshape(labels.shape) < 0.0
    assert np.isin(labels[own], named(*BONES)).mean() > 0.999
    assert own.sum() * 0.4**3 == pytest.approx(CONDYLE_MM3[MEAN_MAN.sex], rel=0.01)
    assert np.isin(labels[own], named("spongy bone of the mandible")).any()


def test_the_jaw_has_a_dense_shell_and_an_open_canal():
    """Lower border below the molars: 2 to 3 mm dense bone, spongy inside, soft in the canal."""
    path = canal_path(MEAN_MAN, Side.LEFT)
    middle = path[34]
    grid = crop(middle - [6.0, 3.0, 15.0], middle + [6.0, 3.0, 6.0], 0.25)
    labels = mandible_labels(solids_of(MEAN_MAN), grid)

    def here(point) -> str:
        return at(labels, grid.origin_mm, 0.25, point)

    assert here(middle) == "soft tissue"
    column = labels[:, 12, 24]
    first = int(np.argmax(column > 0))
    dense = int(np.argmax(column[first:] != named("cortical bone")[0])) * 0.25
    assert 2.0 <= dense <= 3.5  # along z, which meets the border at a slant
    assert PHANTOM_MATERIALS[column[first + round(dense / 0.25)]] == "spongy bone of the mandible"
    across = labels[round(15.0 / 0.25), 12]
    assert (across == named("soft tissue")[0]).sum() * 0.25 == pytest.approx(2.7, abs=1.0)


def test_the_vault_has_two_tables_with_spongy_bone_between():
    """At the crown of the head: outer table, spongy bone, inner table, each table 1.5 to 2 mm."""
    grid = crop([0.25, 5.0, 105.0], [3.0, 8.0, 138.0], 0.25)
    column = skull_labels(solids_of(MEAN_MAN), grid)[:, 6, 5]
    runs = [column[0], *column[1:][np.diff(column) != 0]]
    assert [PHANTOM_MATERIALS[r] for r in runs] == [
        "brain", "cortical bone", "spongy bone of the cranium", "cortical bone", "soft tissue",
        "skin", "air",
    ]  # fmt: skip
    edges = np.flatnonzero(np.diff(column))
    lengths = np.diff(edges) * 0.25
    assert 1.4 <= lengths[0] <= 2.1 and 1.4 <= lengths[2] <= 2.1


def test_a_womans_teeth_and_skull_meet_their_own_shapes():
    """Of the woman, too, the sinus holds air and the root of 26 stands in bone."""
    tooth = tooth_of(MEAN_WOMAN, 26)
    grid = crop(tooth.solid.lower_mm - 4.0, tooth.solid.upper_mm + [4.0, 4.0, 12.0], 0.5)
    labels = skull_labels(solids_of(MEAN_WOMAN), grid)
    assert (labels == named("air")[0]).sum() * 0.125 > 100.0
    own = tooth.solid(grid.points_mm((slice(None),) * 3)).reshape(labels.shape) < 0.0
    assert np.isin(labels[own], named(*TOOTH)).all()


def test_the_same_on_every_run():
    """Two runs give the same voxels."""
    grid = crop([10.0, -80.0, -60.0], [40.0, -40.0, -20.0], 1.0)
    once, again = (skull_labels(solids_of(MEAN_WOMAN), grid) for _ in range(2))
    assert len(np.unique(once)) > 5
    np.testing.assert_array_equal(once, again)


@pytest.mark.parametrize("spacing", [0.1, 6.0, float("nan")])
def test_voxels_out_of_range_are_refused(spacing):
    """Voxels below 0.2 or above 5 mm are refused with the range."""
    with pytest.raises(TrainerError, match=r"0\.2 to 5"):
        build_phantom(MEAN_MAN, spacing)


@pytest.mark.timeout(300)
def test_the_mean_mans_voxels_agree_with_the_exact_model():
    """Read from fields, 99.5 % of the head's voxels are what the implicit model makes them.

    Of bone voxels at least 98 % lie within one voxel of exact bone, and the other way round.
    """
    # not 2 mm: the neck's flat end would lie just on a layer of centres
    found, exact = (volumes(kind(MEAN_MAN, reference()), 1.9) for kind in (Solids, ExactSolids))
    for quick, slow in zip(found, exact, strict=True):
        np.testing.assert_allclose(quick.origin_mm, slow.origin_mm, atol=1e-9)
        a, b = quick.labels, slow.labels
        assert a.shape == b.shape
        filled = (a > 0) | (b > 0)
        bone_a, bone_b = (np.isin(v, named(*BONES)) for v in (a, b))
        agree = (a == b)[filled].mean()
        if quick.frame is Frame.SKULL:
            assert agree >= 0.995
        else:  # a small volume, most of whose voxels lie at its surface
            assert agree >= 0.985
        assert binary_dilation(bone_b)[bone_a].mean() >= 0.98
        assert binary_dilation(bone_a)[bone_b].mean() >= 0.98


def test_a_tooth_missing_on_one_side_is_missing_there_only():
    """Without 46 the right side is the left one of the mirror image, who lacks 36."""
    person = Person(mouth=Mouth(missing=(46,)))
    assert mirror_image(person).mouth.missing == (36,)
    found, image = (build_phantom(p, 2.0) for p in (person, mirror_image(person)))
    for a, b in zip((found.skull, found.mandible), (image.skull, image.mandible), strict=True):
        assert (a.labels == b.labels[:, :, ::-1]).mean() > 0.9999
    tooth = tooth_of(MEAN_MAN, 36)
    inside = tooth.origin_mm - 4.0 * tooth.rotation[:, 2] + 2.5 * tooth.rotation[:, 0]
    crown = tooth.origin_mm + 3.0 * tooth.rotation[:, 2]
    assert material_at(found.mandible, crown) in HARD
    assert material_at(found.mandible, crown * [-1, 1, 1]) == "air"
    assert material_at(found.mandible, inside * [-1, 1, 1]) not in {"enamel", "dentine"}


def test_what_is_worn_is_in_the_volume():
    """A tongue stud is steel or titanium in the lower jaw's or the skull's volume, nowhere else."""
    plain, worn = (build_phantom(Person(worn=w), 1.5) for w in ((), (Worn.TONGUE_STUD,)))
    assert set(plain.skull.materials) == set(PHANTOM_MATERIALS)
    more = set(worn.skull.materials) - set(PHANTOM_MATERIALS)
    assert more
    count = 0
    for volume in (worn.skull, worn.mandible):
        for material in more:
            count += int((volume.labels == volume.materials.index(material)).sum())
    assert 2 <= count <= 200

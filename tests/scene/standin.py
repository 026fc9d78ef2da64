"""A head of simple solids, quick to make: enough for tests of pictures and panels.

It has the real head's structure ids where a case asks for them, and its chin, teeth and sides lie
where the starter landmarks put them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trainer.anatomy.people.landmarks import chin_contact, starter_landmarks
from trainer.models.device import Region
from trainer.models.frames import Frame, Side
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.models.scenario import AttitudeLimits, Case, ReferencePlane, Requirement
from trainer.models.setup import Setup
from trainer.models.structures import Head, Structure, StructureKind
from trainer.models.subject import MEAN_MAN, Person, Subject


def ball(centre, radii, fine=24):
    """Corners and triangles of an ellipsoid, outward normals."""
    rings, around = fine // 2, fine
    polar = np.linspace(0, np.pi, rings + 1)
    turn = np.arange(around) * 2 * np.pi / around
    points = np.stack(
        [
            np.outer(np.sin(polar), np.cos(turn)),
            np.outer(np.sin(polar), np.sin(turn)),
            np.outer(np.cos(polar), np.ones(around)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    # all points of a pole are one corner
    index = np.arange((rings + 1) * around).reshape(rings + 1, around)
    index[0] = index[0, 0]
    index[-1] = index[-1, 0]
    i, j = np.meshgrid(np.arange(rings), np.arange(around), indexing="ij")
    k = (j + 1) % around
    one = np.stack([index[i, j], index[i + 1, j], index[i, k]], axis=-1).reshape(-1, 3)
    two = np.stack([index[i, k], index[i + 1, j], index[i + 1, k]], axis=-1).reshape(-1, 3)
    faces = np.concatenate([one, two])
    ok = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 0] != faces[:, 2])
    return points * radii + centre, faces[ok].astype(np.int32)


def part(name, tissue, frame, centre, radii, fine=24, share=False):
    """A display part made of one ellipsoid."""
    vertices, faces = ball(np.asarray(centre, float), np.asarray(radii, float), fine)
    jaw = None
    if share:
        jaw = np.clip((-40.0 - vertices[:, 2]) / 30.0, 0, 1).astype(np.float32)
    return DisplayPart(name, tissue, frame, vertices.astype(np.float32), faces, jaw)


TOOTH_PLACES = {
    # id: frame, centre in the skull frame with the teeth together [mm]
    48: (Frame.MANDIBLE, (-30.0, -45.0, -63.0)),
    38: (Frame.MANDIBLE, (30.0, -45.0, -63.0)),
    47: (Frame.MANDIBLE, (-28.0, -54.0, -63.0)),
    46: (Frame.MANDIBLE, (-26.0, -63.0, -63.0)),
    36: (Frame.MANDIBLE, (26.0, -63.0, -63.0)),
    41: (Frame.MANDIBLE, (-2.5, -92.0, -63.0)),
    31: (Frame.MANDIBLE, (2.5, -92.0, -63.0)),
    16: (Frame.SKULL, (-27.0, -63.0, -42.0)),
    11: (Frame.SKULL, (-4.0, -93.0, -44.0)),
    21: (Frame.SKULL, (4.0, -93.0, -44.0)),
    26: (Frame.SKULL, (27.0, -63.0, -42.0)),
}


def standin_head(person: Person = MEAN_MAN) -> HeadMeshes:
    """The stand-in head."""
    structures, marks, teeth = {}, {}, []

    def add(key, name, kind, frame, centre, radii):
        shape = part(key, Tissue.TOOTH, frame, centre, radii, 12)
        corners = shape.vertices_mm.astype(float)
        samples = np.concatenate(
            [corners * s + np.asarray(centre) * (1 - s) for s in (0.3, 0.7, 1.0)]
        )
        structures[key] = Structure(
            key, name, kind, Side.LEFT if centre[0] > 0 else Side.RIGHT, frame, samples,
            np.full(len(samples), 1 / len(samples)), 1.0, corners,
            float(4 / 3 * np.pi * np.prod(radii)),
        )  # fmt: skip
        marks[key] = shape

    for number, (frame, (x, y, z)) in TOOTH_PLACES.items():
        down = -1.0 if frame is Frame.MANDIBLE else 1.0
        teeth.append(part(f"tooth-{number}", Tissue.TOOTH, frame, (x, y, z), (4, 4, 10), 12))
        add(f"tooth-{number}", f"tooth {number}", StructureKind.TOOTH, frame, (x, y, z), (4, 4, 10))
        add(f"tooth-{number}-crown", f"the crown of {number}", StructureKind.CROWN, frame,
            (x, y, z - 6 * down), (4, 4, 4))  # fmt: skip
        for tip, dy in (("mesial", -2), ("distal", 2)):
            add(f"tooth-{number}-apex-{tip}", f"the {tip} tip of {number}", StructureKind.APEX,
                frame, (x, y + dy, z + 9 * down), (0.6, 0.6, 0.6))  # fmt: skip
    for side, x in (("left", 28.0), ("right", -28.0)):
        add(f"canal-{side}", f"the {side} mandibular canal", StructureKind.CANAL, Frame.MANDIBLE,
            (x, -50.0, -78.0), (2, 18, 2))  # fmt: skip

    def parts(fine):
        return (
            part("skull", Tissue.BONE, Frame.SKULL, (0, -10, 30), (68, 85, 75), fine),
            part("mandible", Tissue.BONE, Frame.MANDIBLE, (0, -55, -78), (40, 38, 14), fine),
            part("skin", Tissue.SKIN, Frame.SKULL, (0, -14, 14), (80, 98, 117), 2 * fine, True),
            *teeth,
        )

    landmarks = starter_landmarks(person)
    for side, x in (("left", 26.0), ("right", -26.0)):
        landmarks[f"lower-first-molar-cusp-{side}"] = np.array([x, -63.0, -53.0])
    head = Head(person, structures, landmarks, chin_contact(person))
    return HeadMeshes(head, parts(32), parts(20), marks)


def standin_case(**start) -> Case:
    """A case for the stand-in head: tooth 48 and its root tips, the support too low."""
    setup = Setup(
        unit_height_mm=1540.0, chin_height_mm=-36.0, sideways_mm=0.0, forward_mm=0.0,
        pitch_deg=0.0, yaw_deg=0.0, roll_deg=0.0, jaw_gap_mm=0.0, region=Region.LOWER_JAW,
        field="40x40", field_sideways_mm=-30.0, field_forward_mm=-33.0, arm_turned=False,
    )  # fmt: skip
    return Case(
        id="standin", level=1, title={"en": "Stand-in case"}, request={"en": "Tooth 48."},
        aim={"en": "Bring 48 into the field."},
        subject=Subject(MEAN_MAN, "Nobody (invented)", 1500.0), unit_id="alder-bench",
        start=setup.with_values(start),
        required=tuple(Requirement(k, 2.0) for k in
                       ("tooth-48", "tooth-48-crown", "tooth-48-apex-mesial")),
        wanted=("canal-right",),
        attitude=AttitudeLimits(ReferencePlane.FRANKFORT, 10.0, 8.0, 8.0), guard_rim_mm=1.0,
    )  # fmt: skip


def with_marker(meshes: HeadMeshes, at_mm, radius_mm: float = 7.0) -> HeadMeshes:
    """The head with a ball of the canal's colour, which nothing else of it has (skull frame)."""
    ball_part = part("marker", Tissue.NERVE, Frame.SKULL, at_mm, (radius_mm,) * 3, 16)
    return replace(meshes, fine=(*meshes.fine, ball_part), coarse=(*meshes.coarse, ball_part))


def marker_pixels(image: np.ndarray) -> np.ndarray:
    """Rows and columns of pixels with the marker's yellow, however it is lit: (n, 2)."""
    r, g, b = (image[..., i].astype(int) for i in range(3))
    return np.argwhere((r > 60) & (b < 0.5 * r) & (g > 0.65 * r) & (g < 0.95 * r))

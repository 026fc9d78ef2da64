"""A built head as somebody sees it who is about to measure it."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy.bones.canal import canal_path
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.calipers import front_line, hits_mm, side_view
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import Mesh
from trainer.anatomy.soft.skin import skin_points
from trainer.anatomy.teeth.dentition import Tooth, dentition
from trainer.anatomy.teeth.tooth_measures import in_tooth_axes
from trainer.errors import NotFound
from trainer.models.frames import Side
from trainer.models.meshes import HeadMeshes

Array = NDArray[np.float64]

# The biting edge is what lies within this of the highest point; coarser than in `tooth_measures`,
# because the built surface is.
EDGE_DEPTH_MM = 0.3
# Where a hollow is this flat [mm], its middle is taken.
FLAT_MM = 0.05


class Specimen:
    """Surfaces, structures, landmarks and teeth of one head, in the skull frame, teeth together.

    Points of bone and skin are found on the surfaces where they can be; those that no surface
    shows (sella, basion, porion and the like) are the head's landmarks. All lengths [mm].
    """

    def __init__(self, head: HeadMeshes) -> None:
        self.head = head
        self.person = head.head.person
        self._parts = {part.id: part for part in head.fine}
        self._meshes: dict[str, Mesh] = {}

    # --- what there is -----------------------------------------------------------------------

    def surface(self, part_id: str) -> Mesh:
        """The fine surface of a display part.

        Raises
        ------
        NotFound
            If the head has no such part.
        """
        if part_id not in self._parts:
            raise NotFound(f"the head has no surface {part_id!r}")
        if part_id not in self._meshes:
            part = self._parts[part_id]
            self._meshes[part_id] = Mesh(part.vertices_mm.astype(np.float64), part.faces)
        return self._meshes[part_id]

    def mark(self, name: str) -> Array:
        """A landmark (3,); a paired one without its side is seen from the side, in the midline."""
        marks = self.head.head.landmarks_mm
        if name in marks:
            return np.asarray(marks[name], float)
        pair = (marks.get(f"{name}-left"), marks.get(f"{name}-right"))
        if pair[0] is None or pair[1] is None:
            raise NotFound(f"the head has no landmark {name!r}")
        return np.asarray((pair[0] + pair[1]) / 2.0, float)

    def hull(self, structure_id: str) -> Array:
        """Corners (n, 3) of a structure's convex hull."""
        return self.head.head.structure(structure_id).hull_mm

    def size(self, structure_id: str) -> Array:
        """Left-right, fore-and-aft and upright extent (3,) of a structure."""
        return np.asarray(np.ptp(self.hull(structure_id), axis=0))

    def centre(self, structure_id: str) -> Array:
        """Centre of volume (3,) of a structure."""
        found = self.head.head.structure(structure_id)
        return np.asarray(found.weights @ found.samples_mm)

    def volume_mm3(self, structure_id: str) -> float:
        """Volume of a structure [mm3]."""
        return self.head.head.structure(structure_id).volume_mm3

    def place(self, man_fu: ArrayLike, x_mm: float = 0.0) -> Array:
        """The point (3,) that lies in this head where (forward, up) at ``x_mm`` lies in the man."""
        f, u = np.asarray(man_fu, float)
        return np.asarray(head_warp(self.person).to_subject(np.array([[x_mm, -f, u]]))[0])

    # --- points on the skin ------------------------------------------------------------------

    @cached_property
    def skin_marks(self) -> dict[str, Array]:
        """Named skin points (3,) of the model: tragion, lip line, base of the nose and so on."""
        points = skin_points()
        moved = head_warp(self.person).to_subject(np.array(list(points.values())))
        return dict(zip(points, moved, strict=True))

    @cached_property
    def skin_profile(self) -> Array:
        """Pieces (k, 2, 2), forward and up, of the skin's midline cut."""
        return side_view(self.surface("skin"))

    @cached_property
    def glabella(self) -> Array:
        """Foremost skin point between the brows."""
        u = self.mark("glabella-skin")[2]
        return _foremost(front_line(self.skin_profile, u - 6.0, u + 6.0))

    @cached_property
    def sellion(self) -> Array:
        """Deepest skin point of the nose's root."""
        u = self.mark("nasion")[2]
        return _rearmost(front_line(self.skin_profile, u - 14.0, u))

    @cached_property
    def chin_underside(self) -> Array:
        """Skin under the chin, straight below the bony menton: where the chin rests."""
        start = self.mark("menton") + [0.0, 0.0, 8.0]
        return np.asarray(start - [0.0, 0.0, hits_mm(self.surface("skin"), start, (0, 0, -1))[0]])

    @cached_property
    def head_back(self) -> Array:
        """Opisthocranion: the skin's midline point farthest from the glabella."""
        fu = self.skin_profile.reshape(-1, 2)
        back = fu[(fu[:, 1] > 0.0) & (fu[:, 0] < 0.0)]
        points = np.stack([0 * back[:, 0], -back[:, 0], back[:, 1]], axis=1)
        away = np.linalg.norm(points - self.glabella, axis=1)
        return np.asarray(points[np.argmax(away)])

    # --- points on bone ----------------------------------------------------------------------

    @cached_property
    def skull_bone(self) -> Shape:
        """The cranium's solid: for what the shown surface leaves out or shows coarsely."""
        return head_warp(self.person).shape(cranium())

    @cached_property
    def skull_profile(self) -> Array:
        """Pieces (k, 2, 2), forward and up, of the skull's midline cut."""
        return side_view(self.surface("skull"))

    @cached_property
    def jaw_profile(self) -> Array:
        """Pieces (k, 2, 2), forward and up, of the lower jaw's midline cut."""
        return side_view(self.surface("mandible"))

    @cached_property
    def nasion(self) -> Array:
        """Deepest bony point of the nose's root."""
        u = self.mark("nasion")[2]
        return _rearmost(front_line(self.skull_profile, u - 6.0, u + 6.0))

    @cached_property
    def nasal_spine(self) -> Array:
        """Tip of the front nasal spine."""
        u = self.mark("anterior-nasal-spine")[2]
        return _foremost(front_line(self.skull_profile, u - 4.0, u + 4.0))

    @cached_property
    def a_point(self) -> Array:
        """Deepest point of the upper alveolar contour between spine and incisors."""
        u = self.nasal_spine[2]
        return _rearmost(front_line(self.skull_profile, u - 10.0, u - 2.0))

    @cached_property
    def b_point(self) -> Array:
        """Deepest point of the lower alveolar contour between incisors and chin."""
        u = self.mark("pogonion")[2]
        return _rearmost(front_line(self.jaw_profile, u + 1.0, u + 16.0))

    @cached_property
    def pogonion(self) -> Array:
        """Foremost point of the bony chin."""
        u = self.mark("pogonion")[2]
        return _foremost(front_line(self.jaw_profile, u - 8.0, u + 5.0))

    @cached_property
    def gnathion(self) -> Array:
        """Most forward and low point of the bony chin."""
        return _extreme(self.jaw_profile, (1.0, -1.0))

    @cached_property
    def menton(self) -> Array:
        """Lowest point of the bony chin."""
        return _extreme(self.jaw_profile, (0.0, -1.0))

    @cached_property
    def condylion(self) -> Array:
        """Rearmost and highest point of the left condyle, as on a lateral film."""
        hull = self.hull("condyle-left")
        return np.asarray(hull[np.argmax(hull[:, 1] + hull[:, 2])])

    @cached_property
    def condyle(self) -> Array:
        """Centre of the left condyle."""
        return self.centre("condyle-left")

    @cached_property
    def jaw_tangents(self) -> tuple[Array, Array]:
        """Lower and rear tangent of the lower jaw in side view: unit ways (2,), forward and up.

        The lower one points to the front, the rear one up: the longest straight edges that a ruler
        laid along the jaw's outline touches.
        """
        fu = self.surface("mandible").vertices_mm[:, 1:] * np.array([-1.0, 1.0])
        hull = ConvexHull(fu)
        edges, outward = fu[hull.simplices], hull.equations[:, :2]
        way = edges[:, 1] - edges[:, 0]
        length = np.linalg.norm(way, axis=1)
        lower = way[np.argmax(np.where(outward[:, 1] < -0.7, length, 0.0))]
        rear = way[np.argmax(np.where(outward[:, 0] < -0.7, length, 0.0))]
        lower, rear = lower * np.sign(lower[0]), rear * np.sign(rear[1])
        return lower / np.linalg.norm(lower), rear / np.linalg.norm(rear)

    @cached_property
    def canal(self) -> Array:
        """Middle line (n, 3) of the left mandibular canal, from the rear opening to the front."""
        return canal_path(self.person, Side.LEFT)

    # --- teeth -------------------------------------------------------------------------------

    @cached_property
    def teeth(self) -> dict[int, Tooth]:
        """The teeth in the mouth by number: for their axes; sizes come from the built surfaces."""
        return {tooth.fdi: tooth for tooth in dentition(self.person) if tooth.erupted}

    def tooth(self, fdi: int) -> Tooth:
        """A tooth in the mouth.

        Raises
        ------
        NotFound
            If the person has lost it, or it has not come through yet.
        """
        if fdi not in self.teeth:
            raise NotFound(f"the head has no tooth {fdi} in its mouth")
        return self.teeth[fdi]

    def finished_tooth(self, fdi: int) -> Tooth:
        """A tooth in the mouth whose roots are whole.

        Raises
        ------
        NotFound
            As `tooth`, or if its roots still grow or are being dissolved.
        """
        tooth = self.tooth(fdi)
        if not whole_roots(tooth):
            raise NotFound(f"tooth {fdi} has no whole roots")
        return tooth

    def tooth_in_axes(self, fdi: int) -> Array:
        """Corners (n, 3) of a tooth's surface as mesial, buccal, occlusal from the neck."""
        return in_tooth_axes(self.tooth(fdi), self.surface(f"tooth-{fdi}").vertices_mm)

    def crown_corners(self, fdi: int) -> Array:
        """Corners (n, 3) of a tooth's surface above its neck, in the skull frame."""
        return self.surface(f"tooth-{fdi}").vertices_mm[self.tooth_in_axes(fdi)[:, 2] > 0.0]

    def crown_mesh(self, fdi: int) -> Mesh:
        """The part of a tooth's surface above its neck (open below)."""
        whole, own = self.surface(f"tooth-{fdi}"), self.tooth_in_axes(fdi)
        return Mesh(whole.vertices_mm, whole.faces[(own[whole.faces, 2] > 0.0).all(axis=1)])

    def tip(self, fdi: int, mesial: bool | None = None) -> Array:
        """The tallest point of a tooth; of a back tooth, on its cheek side.

        ``mesial`` picks the front or the rear half of a molar.
        """
        own = self.tooth_in_axes(fdi)
        keep = own[:, 2] > 0.0
        if fdi % 10 > 3:
            keep &= own[:, 1] > 0.0
        if mesial is not None:
            keep &= (own[:, 0] > 0.0) == mesial
        rows = np.flatnonzero(keep)
        return np.asarray(self.surface(f"tooth-{fdi}").vertices_mm[rows[np.argmax(own[rows, 2])]])

    def edge(self, fdi: int) -> Array:
        """Middle of the biting edge of a front tooth."""
        own = self.tooth_in_axes(fdi)
        near = self.surface(f"tooth-{fdi}").vertices_mm[own[:, 2] > own[:, 2].max() - EDGE_DEPTH_MM]
        return np.asarray((near.min(axis=0) + near.max(axis=0)) / 2.0)

    def apex(self, fdi: int) -> Array:
        """The farthest point of a tooth's roots along its own axis."""
        return np.asarray(
            self.surface(f"tooth-{fdi}").vertices_mm[np.argmin(self.tooth_in_axes(fdi)[:, 2])]
        )

    @cached_property
    def bite(self) -> tuple[Array, Array]:
        """Front and rear point (3,) of the bisected occlusal plane in the midline."""
        front = (self.edge(21) + self.edge(31)) / 2.0
        rear = (self.tip(26, mesial=True) + self.tip(36, mesial=True)) / 2.0
        return front * [0.0, 1.0, 1.0], rear * [0.0, 1.0, 1.0]

    def in_bite(self, point_mm: Array) -> Array:
        """A point (3,) as left, back along the occlusal plane, up from it."""
        front, rear = self.bite
        back = (rear - front) / np.linalg.norm(rear - front)
        left = np.array([1.0, 0.0, 0.0])
        axes = np.stack([left, back, np.cross(left, back)])
        return np.asarray(axes @ (np.asarray(point_mm, float) - front))


def whole_roots(tooth: Tooth) -> bool:
    """Whether a tooth's roots neither grow nor are being dissolved."""
    return tooth.root_share >= 1.0 and not tooth.resorbed


def _point(fu: Array) -> Array:
    return np.array([0.0, -fu[0], fu[1]])


def _foremost(line_fu: Array) -> Array:
    return _point(line_fu[np.argmax(line_fu[:, 0])])


def _rearmost(line_fu: Array) -> Array:
    # the middle of the place that is deepest, which may be flat
    deep = line_fu[line_fu[:, 0] < line_fu[:, 0].min() + FLAT_MM]
    return _point(deep.mean(axis=0))


def _extreme(pieces_fu: Array, way_fu: ArrayLike) -> Array:
    fu = pieces_fu.reshape(-1, 2)
    return _point(fu[np.argmax(fu @ np.asarray(way_fu, float))])

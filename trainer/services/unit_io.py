"""Unit files: from YAML to `Unit`, and every fault of one at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from trainer.errors import Fault, NotFound
from trainer.models.controls import NUMBER_KEYS
from trainer.models.device import (
    Beam,
    FieldSize,
    LayerArc,
    LightAxis,
    LightPlace,
    LightPlane,
    MovingPart,
    Region,
    RegionPlace,
    SharpLayer,
    Travel,
    Turn,
    Unit,
)
from trainer.services.file_check import (
    entries,
    got,
    in_order,
    known,
    near_hint,
    numbers,
    repeated_ids,
    schema_faults,
    sound_tree,
)
from trainer.services.tube_io import tube_faults, tube_of
from trainer.services.yaml_text import Tree

ENDINGS = (".yaml", ".yml")
MANIFEST = "manifest.yaml"  # the list of a pack, which stands beside its cases
# One folder, or several of which an earlier one counts before a later one.
Folders = Path | tuple[Path, ...]
# Which way a light plane can face, by what it marks.
AXES_OF_PLACE: Mapping[LightPlace, tuple[LightAxis, ...]] = {
    LightPlace.MIDLINE: (LightAxis.SIDEWAYS,),
    LightPlace.ZERO_PLANE: (LightAxis.HEIGHT,),
    LightPlace.FIELD_FRONT: (LightAxis.FORWARD,),
    LightPlace.FIELD_CENTRE: (LightAxis.SIDEWAYS, LightAxis.FORWARD, LightAxis.HEIGHT),
    LightPlace.FIELD_FLOOR: (LightAxis.HEIGHT,),
    LightPlace.FIELD_ROOF: (LightAxis.HEIGHT,),
    LightPlace.GROOVE: (LightAxis.FORWARD,),
}


def load_unit(path: Path) -> Unit:
    """The unit that the file describes.

    Raises
    ------
    NotReadable, NotValid
        As `sound_tree`.
    """
    return unit_of(sound_tree(path, unit_faults).data)


def find_unit(unit_id: str, folder: Folders) -> Unit:
    """The unit of that id from the folder of unit files: ``alder-bench`` is `alder_bench.yaml`.

    Raises
    ------
    NotFound
        If there is no such file, or the file says another id; the message offers the nearest.
    NotReadable, NotValid
        As `load_unit`.
    """
    path = named_file("unit", unit_id, folder)
    unit = load_unit(path)
    if unit.id != unit_id:
        raise NotFound(f"{path}: holds unit {unit.id!r}, expected {unit_id!r}")
    return unit


def named_file(kind: str, name: str, folder: Folders) -> Path:
    """The file of that name in the folders; ``kind`` is what it is called where there is none.

    Raises
    ------
    NotFound
        If there is none; the message offers the nearest.
    """
    files = named_files(folder)
    if name not in files:
        hint = near_hint(name, files) or f"; there are {', '.join(files) or 'none'}"
        raise NotFound(f"unknown {kind} {got(name)}{hint}")
    return files[name]


def named_files(folder: Folders) -> dict[str, Path]:
    """The YAML files of the folders by the name they stand for: ``a_b.yaml`` is ``a-b``.

    A pack's list is none of them.
    """
    named: dict[str, Path] = {}
    for each in (folder,) if isinstance(folder, Path) else folder:
        if each.is_dir():
            found = (p for p in sorted(each.iterdir()) if p.suffix in ENDINGS and p.is_file())
            files = {p.stem.replace("_", "-"): p for p in found if p.name != MANIFEST}
            named = files | named
    return named


def unit_faults(tree: Tree) -> tuple[Fault, ...]:
    """Every fault of a unit file, from top to bottom; empty when all is well."""
    schema_faults(tree, "unit")
    if isinstance(tree.data, dict):
        _travel_faults(tree)
        _field_faults(tree)
        _layer_faults(tree)
        _light_faults(tree)
        _beam_faults(tree)
        _moving_faults(tree)
        tube_faults(tree)
    return in_order(tree)


def _travel_faults(tree: Tree) -> None:
    for key in NUMBER_KEYS:
        base = ("travel", key)
        limits = numbers(tree, base, "lowest", "highest", "step")
        if limits is None:
            continue
        lowest, highest, step = limits
        if highest < lowest:
            text = f"must be at least lowest ({lowest:g}), got {highest:g}"
            tree.say((*base, "highest"), text)
        elif step > highest - lowest > 0:
            text = f"must be at most the whole way ({highest - lowest:g}), got {step:g}"
            tree.say((*base, "step"), text)


def _field_faults(tree: Tree) -> None:
    repeated_ids(tree, "fields")
    regions = known(tree, "regions")
    if not isinstance(regions, dict):
        return
    served: set[str] = set()
    for n in entries(tree, "fields"):
        names = known(tree, "fields", n, "regions")
        for m, name in enumerate(names if isinstance(names, list) else []):
            if known(tree, "fields", n, "regions", m) is None:
                continue
            served.add(name)
            if name in {r.value for r in Region} and name not in regions:
                text = f"{name} is not among this unit's regions ({', '.join(regions)})"
                tree.say(("fields", n, "regions", m), text)
    for name in regions:
        if name in {r.value for r in Region} and name not in served:
            tree.say(("regions", name), "no field of this unit serves the region")


def _layer_faults(tree: Tree) -> None:
    """A panoramic unit makes nothing else, and its layer lies in the field."""
    fields = tuple(entries(tree, "fields"))
    layered = [n for n in fields if known(tree, "fields", n, "layer") is not None]
    if not layered:
        for n in entries(tree, "lights"):
            if known(tree, "lights", n, "place") == LightPlace.GROOVE:
                text = "no field of this unit has a layer, and so no groove for the front teeth"
                tree.say(("lights", n, "place"), text)
        return
    for n in fields:
        if n not in layered:
            text = "has no layer, others have; a unit makes panoramic pictures or volumes"
            tree.say(("fields", n), text)
    for n in layered:
        size = numbers(tree, ("fields", n), "diameter_mm")
        base = ("fields", n, "layer")
        for key in ("groove_behind_mm", "front_behind_mm"):
            place = numbers(tree, base, key)
            if size is not None and place is not None and place[0] >= size[0] / 2.0:
                text = f"must lie in the front half of the field ({size[0]:g} mm), got {place[0]:g}"
                tree.say((*base, key), text)


def _light_faults(tree: Tree) -> None:
    repeated_ids(tree, "lights")
    for n in entries(tree, "lights"):
        axis, place = known(tree, "lights", n, "axis"), known(tree, "lights", n, "place")
        if isinstance(axis, str) and isinstance(place, str):
            allowed = AXES_OF_PLACE[LightPlace(place)]
            if axis not in allowed:
                text = f"a light at the {place} faces {' or '.join(allowed)}, got {got(axis)}"
                tree.say(("lights", n, "axis"), text)


def _beam_faults(tree: Tree) -> None:
    """The detector stands behind the axis and holds every field's height at the axis."""
    beam = numbers(
        tree, ("beam",), "source_to_axis_mm", "source_to_detector_mm", "detector_below_mm",
        "detector_above_mm",
    )  # fmt: skip
    if beam is None:
        return
    axis, detector, below, above = beam
    if detector <= axis:
        text = f"must be above source_to_axis_mm ({axis:g} mm), got {detector:g}"
        tree.say(("beam", "source_to_detector_mm"), text)
        return
    below, above = below * axis / detector, above * axis / detector
    for n in entries(tree, "fields"):
        size = numbers(tree, ("fields", n), "diameter_mm", "height_mm")
        names = known(tree, "fields", n, "regions")
        if size is None or not isinstance(names, list):
            continue
        if size[0] / 2 >= axis or size[0] / 2 >= detector - axis:
            text = f"reaches the source or the detector ({axis:g} and {detector - axis:g} mm away)"
            tree.say(("fields", n, "diameter_mm"), text)
        for m in range(len(names)):
            name = known(tree, "fields", n, "regions", m)
            place = numbers(tree, ("regions", str(name)), "start_mm", "central_ray_mm")
            if place is None:
                continue
            floor, roof = place[0] - place[1], place[0] + size[1] - place[1]
            if -floor > below + 1e-9 or roof > above + 1e-9:
                text = (f"on the axis the detector sees {-below:.1f} to {above:.1f} mm about the "
                        f"central ray, the {name} field needs {floor:g} to {roof:g}")  # fmt: skip
                tree.say(("fields", n, "height_mm"), text)


def _moving_faults(tree: Tree) -> None:
    """Each part has an inside and an outside, and stays clear of every field."""
    repeated_ids(tree, "moving_parts")
    for n in entries(tree, "moving_parts"):
        base = ("moving_parts", n)
        for low, high in (("nearest_mm", "farthest_mm"), ("bottom_mm", "top_mm")):
            ends = numbers(tree, base, low, high)
            if ends is not None and ends[1] <= ends[0]:
                tree.say((*base, high), f"must be above {low} ({ends[0]:g} mm), got {ends[1]:g}")
        box = numbers(tree, base, "nearest_mm", "bottom_mm", "top_mm")
        for m in entries(tree, "fields"):
            size = numbers(tree, ("fields", m), "diameter_mm", "height_mm")
            names = known(tree, "fields", m, "regions")
            if box is None or size is None or not isinstance(names, list):
                continue
            starts = [numbers(tree, ("regions", str(name)), "start_mm") for name in names]
            level = any(s and s[0] < box[2] and s[0] + size[1] > box[1] for s in starts)
            if level and box[0] < size[0] / 2.0:
                text = f"reaches into the field {known(tree, 'fields', m, 'id')}, got {box[0]:g}"
                tree.say((*base, "nearest_mm"), text)
                break


def unit_of(data: Any) -> Unit:
    """The unit from data that has no faults."""
    return Unit(
        id=data["id"],
        name=data["name"],
        note=data["note"].strip(),
        support_forward_mm=float(data["support_forward_mm"]),
        front_line_mm=float(data["front_line_mm"]),
        regions={
            Region(name): RegionPlace(float(p["start_mm"]), float(p["central_ray_mm"]))
            for name, p in data["regions"].items()
        },
        fields=tuple(
            FieldSize(
                id=f["id"],
                diameter_mm=float(f["diameter_mm"]),
                height_mm=float(f["height_mm"]),
                regions=tuple(Region(r) for r in f["regions"]),
                voxels_um=tuple(int(v) for v in f["voxels_um"]),
                layer=_layer_of(f["layer"]) if "layer" in f else None,
            )
            for f in data["fields"]
        ),
        travel={
            key: Travel(*(float(data["travel"][key][k]) for k in ("lowest", "highest", "step")))
            for key in NUMBER_KEYS
        },
        lights=tuple(
            LightPlane(
                light["id"],
                LightAxis(light["axis"]),
                LightPlace(light["place"]),
                light["arm_turned_only"],
            )
            for light in data["lights"]
        ),
        beam=Beam(**{key: float(value) for key, value in data["beam"].items()}),
        turn=Turn(**{key: float(value) for key, value in data["turn"].items()}),
        moving_parts=tuple(
            MovingPart(part["id"], **{k: float(v) for k, v in part.items() if k != "id"})
            for part in data["moving_parts"]
        ),
        tube=tube_of(data["tube"]) if "tube" in data else None,
    )


def _layer_of(data: Any) -> SharpLayer:
    return SharpLayer(
        groove_behind_mm=float(data["groove_behind_mm"]),
        front_behind_mm=float(data["front_behind_mm"]),
        arcs=tuple(LayerArc(float(a["length_mm"]), float(a["radius_mm"])) for a in data["arcs"]),
        slit_mm=float(data["slit_mm"]),
    )

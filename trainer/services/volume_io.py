"""Volumes on disk, as NIfTI files with a list of their materials beside them.

In NIfTI +x is the patient's right, +y front and +z up (NIfTI-1, nifti1.h: "+x = Right, +y =
Anterior, +z = Superior"), so x and y change sign on the way out.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.phantom import teeth_together
from trainer.anatomy.materials import MATERIALS
from trainer.errors import NotReadable, TrainerError
from trainer.models.images import LabelVolume, Phantom, RecordedVolume
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.marking import marked_volume

ENDINGS = (".nii.gz", ".nii")
# Fits the header's 79 letters.
DESCRIPTION = "Simulated. Synthetic head, training only, not a medical device."


def save_phantom(phantom: Phantom, path: Path) -> tuple[Path, ...]:
    """Writes the head with its teeth together; returns the files written.

    ``path`` (ending in .nii.gz or .nii) gets the labels, ``…-density`` beside it the density of
    each voxel [g/cm3], ``…-materials.json`` what each label stands for.

    Raises
    ------
    TrainerError
        If the file's name has another ending.
    NotReadable
        If the library that writes such files is not installed.
    """
    ending = ending_of(path)
    stem = path.name.removesuffix(ending)
    whole = teeth_together(phantom)
    density = path.with_name(f"{stem}-density{ending}")
    materials = path.with_name(f"{stem}-materials.json")
    save_volume(whole.labels, whole, path, intent="label")
    save_volume(density_g_cm3(whole), whole, density)
    materials.write_text(json.dumps(material_list(whole), indent=1) + "\n", encoding="utf-8")
    return path, density, materials


def save_recorded(volume: RecordedVolume, path: Path) -> Path:
    """Writes a recorded volume; ``path`` ends in .nii.gz or .nii.

    "SIMULATED" stands in the voxels, in rows added in front of the field; no recorded voxel is
    written over. The values are those of `RecordedVolume`, as float32; the axes are the field's.

    Raises
    ------
    TrainerError
        If the file's name has another ending.
    NotReadable
        If its folder is not there, or a library is not installed.
    """
    check_place(path)
    marked = marked_volume(volume)
    save_volume(marked.values, marked, path)
    return path


def check_place(path: Path) -> None:
    """Whether a volume can be written there; to be told before the work, not after.

    Raises
    ------
    TrainerError
        If the file's name has another ending.
    NotReadable
        If its folder is not there.
    """
    ending_of(path)
    if not path.parent.is_dir():
        raise NotReadable(f"{path}: there is no folder {path.parent}")


def ending_of(path: Path) -> str:
    """The file's ending, ``.nii.gz`` or ``.nii``; `TrainerError` if it has another."""
    for ending in ENDINGS:
        if path.name.endswith(ending) and path.name != ending:
            return ending
    raise TrainerError(f"{path}: a volume's file name must end in {' or '.join(ENDINGS)}")


def density_g_cm3(volume: LabelVolume) -> NDArray[np.float32]:
    """Density of each voxel [z, y, x], from the table of materials."""
    table = np.array([MATERIALS[m].density_g_cm3 for m in volume.materials], np.float32)
    return table[volume.labels]


def ras_affine(volume: LabelVolume | RecordedVolume) -> NDArray[np.float64]:
    """The (4, 4) matrix from voxel numbers x, y, z to right, front, up [mm]."""
    to_ras = np.array([-1.0, -1.0, 1.0])
    affine = np.diag([*(to_ras * volume.spacing_mm), 1.0])
    affine[:3, 3] = to_ras * volume.origin_mm
    return affine


def save_volume(
    values: NDArray[Any],
    volume: LabelVolume | RecordedVolume,
    path: Path,
    intent: str = "none",
) -> None:
    """Writes ``values`` [z, y, x], which lie as ``volume`` does, as one NIfTI file."""
    try:
        import nibabel
    except ImportError as error:
        raise NotReadable(
            f"The library for volume files is not installed ({error}). Run 'python3 start.py', "
            "which installs it."
        ) from error
    affine = ras_affine(volume)
    image = nibabel.Nifti1Image(values.transpose(2, 1, 0), affine)
    image.set_sform(affine, code="aligned")
    image.set_qform(affine, code="aligned")
    image.header.set_xyzt_units("mm")
    image.header.set_intent(intent)
    image.header["descrip"] = DESCRIPTION.encode()
    nibabel.save(image, path)


def material_list(volume: LabelVolume) -> dict[str, Any]:
    """What each label stands for, with density, elements and source, as plain data."""
    rows = []
    for label, name in enumerate(volume.materials):
        material = MATERIALS[name]
        rows.append(
            {
                "label": label,
                "material": name,
                "density_g_cm3": material.density_g_cm3,
                "mass_fractions": {
                    k: round(v, 5) for k, v in material.material.mass_fractions.items()
                },
                "source": material.source,
                "mark": material.mark,
            }
        )
    return {
        "caution": SHORT_CAUTION,
        "frame": f"{volume.frame}, LPS inside, stored as NIfTI's RAS, mm",
        "spacing_mm": volume.spacing_mm,
        "labels": rows,
    }

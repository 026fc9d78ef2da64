"""RTK's projector by Joseph's method and its FDK: independent of ours, to compare with."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.transforms import apply
from trainer.models.frames import RigidTransform
from trainer.models.images import LabelVolume
from trainer.physics.fdk.reconstruct import VolumeGrid
from trainer.physics.scan import ScanGeometry
from trainer.physics.views import ViewGeometry


def joseph_projector(
    per_mm: NDArray[np.floating], volume: LabelVolume
) -> Callable[[ViewGeometry, RigidTransform], NDArray[np.float32]]:
    """Makes line integrals (rows, columns) of attenuation [1/mm] in the volume's voxels.

    ``per_mm`` (nz, ny, nx) lies where ``volume`` says. What is made takes a view and the transform
    from its frame to the volume's, as `line_integrals` does.
    """
    with _warnings_of_the_wrapper():
        import itk

        voxels = itk.image_from_array(np.ascontiguousarray(per_mm, np.float32))
        voxels.SetOrigin(np.asarray(volume.origin_mm, float).tolist())
        voxels.SetSpacing([float(volume.spacing_mm)] * 3)

    def project(view: ViewGeometry, to_volume: RigidTransform) -> NDArray[np.float32]:
        with _warnings_of_the_wrapper():
            return _project(voxels, view, to_volume)

    return project


def fdk_reconstructor(
    lines: NDArray[np.float32], scan: ScanGeometry, grid: VolumeGrid
) -> Callable[[], NDArray[np.float32]]:
    """Makes what puts lines together by RTK's FDK: attenuation (nz, ny, nx), as `reconstruct` does.

    RTK turns about its y axis: our x, z, y are its x, y, z. A short scan is weighted as Parker
    says. Putting the numbers into its own images is left out of the work.
    """
    with _warnings_of_the_wrapper():
        import itk
        from itk import RTK as rtk

        image = itk.Image[itk.F, 3]
        geometry = rtk.ThreeDCircularProjectionGeometry.New()
        for angle in np.degrees(scan.angles_rad).tolist():
            geometry.AddProjection(scan.source_to_axis_mm, scan.source_to_detector_mm, angle)
        # rows from below upwards
        views = itk.image_from_array(np.ascontiguousarray(lines[:, ::-1]))
        bottom = scan.top_mm - (scan.rows - 1) * scan.pixel_mm
        views.SetOrigin([scan.left_mm, bottom, 0.0])
        views.SetSpacing([scan.pixel_mm, scan.pixel_mm, 1.0])
        nz, ny, nx = grid.shape

    def run() -> NDArray[np.float32]:
        with _warnings_of_the_wrapper():
            empty = itk.image_from_array(np.zeros((ny, nz, nx), np.float32))
            empty.SetOrigin(grid.origin_mm[[0, 2, 1]].tolist())
            empty.SetSpacing([grid.spacing_mm] * 3)
            ready = views
            if not scan.is_whole_turn:
                weight = rtk.ParkerShortScanImageFilter[image].New()
                weight.SetInput(views)
                weight.SetGeometry(geometry)
                weight.InPlaceOff()
                weight.Update()
                ready = weight.GetOutput()
            fdk = rtk.FDKConeBeamReconstructionFilter[image].New()
            fdk.SetInput(0, empty)
            fdk.SetInput(1, ready)
            fdk.SetGeometry(geometry)
            fdk.Update()
            found = itk.array_from_image(fdk.GetOutput())
            return np.asarray(found).transpose(1, 0, 2)

    return run


@contextmanager
def _warnings_of_the_wrapper() -> Iterator[None]:
    """Lets its deprecation warnings pass.

    The wrapper loads its parts as they are asked for, and their types name no module. As an error,
    that warning would end the process.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        yield


def _project(voxels: Any, view: ViewGeometry, to_volume: RigidTransform) -> NDArray[np.float32]:
    import itk
    from itk import RTK as rtk

    image = itk.Image[itk.F, 3]

    def point(p: NDArray[np.float64]) -> object:
        return itk.Point[itk.D, 3](apply(to_volume, p).tolist())

    def direction(step: NDArray[np.float64]) -> object:
        return itk.Vector[itk.D, 3]((to_volume.rotation @ step / view.pixel_mm).tolist())

    geometry = rtk.ThreeDCircularProjectionGeometry.New()
    fits = geometry.AddProjection(
        point(view.source_mm),
        point(view.first_pixel_mm),
        direction(view.column_step_mm),
        direction(view.row_step_mm),
    )
    assert fits, "RTK does not take the geometry"
    # the detector's first pixel is its origin
    empty = itk.image_from_array(np.zeros((1, *view.shape), np.float32))
    empty.SetSpacing([view.pixel_mm, view.pixel_mm, 1.0])
    project = rtk.JosephForwardProjectionImageFilter[image, image].New()
    project.SetGeometry(geometry)
    project.SetInput(0, empty)
    project.SetInput(1, voxels)
    project.Update()
    return np.asarray(itk.array_from_image(project.GetOutput())[0])

"""The primary teeth's looks against what textbooks say of them."""

import numpy as np
import pytest

from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.teeth.primary_forms import PRIMARY_FORMS, form_of
from trainer.anatomy.teeth.tooth_forms import FORMS
from trainer.anatomy.teeth.tooth_shapes import tooth_model

KINDS = sorted(PRIMARY_FORMS)


def test_forms_by_kind() -> None:
    """Kinds 1 to 8 have the permanent forms, 11 to 15 the primary ones."""
    assert form_of("upper", 6) is FORMS["upper", 6]
    assert form_of("lower", 15) is PRIMARY_FORMS["lower", 15]


@pytest.mark.parametrize(("jaw", "place"), KINDS)
def test_the_neck_bulges(jaw: str, place: int) -> None:
    """A primary crown is thickest low down, and markedly thicker there than at the neck."""
    # "prominent cervical ridge": dental anatomy textbooks, from memory
    v = surface(tooth_model(jaw, place).solid, 0.25).vertices_mm
    size = tooth_model(jaw, place).size

    def thick(share: float) -> float:
        at = v[np.abs(v[:, 2] - share * size.crown_mm) < 0.25]
        return float(np.ptp(at[:, 1]))

    assert thick(0.2) > 1.1 * thick(0.0)
    assert thick(0.2) > thick(0.7)


@pytest.mark.parametrize(("jaw", "place"), [k for k in KINDS if k[1] >= 14])
def test_molar_roots_splay_beyond_the_crown_and_are_thin(jaw: str, place: int) -> None:
    """Primary molars' roots spread to the crown's width or more, and are thin mesiodistally."""
    model = tooth_model(jaw, place)
    tips = np.array([r.axis_mm[-1] for r in model.roots])
    spread = np.ptp(tips, axis=0)[:2]
    assert spread.max() > 0.7 * max(model.size.md_mm, model.size.bl_mm)
    permanent = tooth_model(jaw, 6)
    assert max(r.half_mm[4, 0] for r in model.roots) < min(r.half_mm[4, 0] for r in permanent.roots)


@pytest.mark.parametrize(("jaw", "place"), KINDS)
def test_primary_crowns_are_lower_than_permanent_ones(jaw: str, place: int) -> None:
    """Each primary crown is lower, over its width, than the one of the same class that follows."""
    primary, permanent = tooth_model(jaw, place).size, tooth_model(jaw, place - 10).size
    assert primary.crown_mm / primary.md_mm < permanent.crown_mm / permanent.md_mm + 0.1
    assert primary.crown_mm < permanent.crown_mm


@pytest.mark.parametrize("share", [0.0, 0.3, 0.65])
@pytest.mark.parametrize(("jaw", "place"), [("upper", 1), ("upper", 6), ("lower", 7)])
def test_growing_roots(jaw: str, place: int, share: float) -> None:
    """A growing tooth ends at its share of the root's length, and its pulp lies within it."""
    model = tooth_model(jaw, place, share)
    v = surface(model.solid, 0.3).vertices_mm
    assert -v[:, 2].min() == pytest.approx(max(share * max(model.size.root_mm), 0.4), abs=0.25)
    assert model.solid(surface(model.pulp, 0.4).vertices_mm).max() < 0.05
    assert len(model.roots) == (0 if share == 0.0 else len(tooth_model(jaw, place).roots))


def test_a_growing_canal_is_wide() -> None:
    """Half a grown root has a far wider canal at its open end than the finished one there."""
    open_end, finished = tooth_model("upper", 1, 0.5), tooth_model("upper", 1)
    line = np.column_stack([np.arange(-4, 4, 0.05), np.zeros(160), np.full(160, -6.0)])
    assert np.sum(open_end.pulp(line) < 0) > 1.8 * np.sum(finished.pulp(line) < 0)

"""The table of tooth sizes against ratios and counts published elsewhere."""

import pytest

from trainer.anatomy.teeth.tooth_tables import (
    ALL_TEETH,
    PRIMARY_TEETH,
    SIZES,
    fdi_of,
    is_primary,
    is_right,
    jaw_of,
    kind_of,
    size_of,
)


def _widths(jaw: str, last: int) -> float:
    return 2.0 * sum(SIZES[jaw, n].md_mm for n in range(1, last + 1))


def test_the_overall_width_ratio_is_boltons() -> None:
    """Lower over upper widths from first molar to first molar are 91.3 (SD 1.91) per cent."""
    # Bolton, Angle Orthod. 1958 (from memory); 91.4 follows from the table itself
    ratio = 100.0 * _widths("lower", 6) / _widths("upper", 6)
    assert ratio == pytest.approx(91.4, abs=0.05)
    assert abs(ratio - 91.3) < 1.91


def test_the_front_width_ratio_is_boltons() -> None:
    """Lower over upper widths from canine to canine are 77.2 (SD 1.65) per cent."""
    # Bolton, Angle Orthod. 1958 (from memory); 77.8 follows from the table itself
    ratio = 100.0 * _widths("lower", 3) / _widths("upper", 3)
    assert ratio == pytest.approx(77.8, abs=0.05)
    assert abs(ratio - 77.2) < 1.65


def test_arch_perimeters() -> None:
    """Widths to the second molars add up to 111 mm in the upper and 106 mm in the lower jaw."""
    assert _widths("upper", 7) == pytest.approx(111.0, abs=0.5)
    assert _widths("lower", 7) == pytest.approx(106.0, abs=0.5)


@pytest.mark.parametrize(
    ("fdi", "crown", "root", "md", "bl"),
    [
        # read in Nelson & Ash, Wheeler's Dental Anatomy, appendix B and flash cards
        (11, 10.5, 13.0, 8.5, 7.0),
        (12, 9.0, 13.0, 6.5, 6.0),
        (25, 8.5, 14.0, 7.0, 9.0),
        (26, 7.5, 12.0, 10.0, 11.0),
    ],
)
def test_rows_that_were_read(fdi: int, crown: float, root: float, md: float, bl: float) -> None:
    """The rows read in Wheeler's Dental Anatomy stand as printed."""
    size = size_of(fdi)
    assert (size.crown_mm, size.root_mm[0], size.md_mm, size.bl_mm) == (crown, root, md, bl)


def test_root_counts() -> None:
    """Upper molars have three roots, lower molars and the upper first premolar two, others one."""
    # common anatomy: Ash & Nelson table 1-1
    for fdi in ALL_TEETH:
        place, jaw = fdi % 10, jaw_of(fdi)
        want = 1 if place < 6 else (3 if jaw == "upper" else 2)
        want = 2 if (jaw, place) == ("upper", 4) else want
        size = size_of(fdi)
        assert len(size.roots) == len(size.root_mm) == want, fdi


def test_the_palatal_root_is_the_longest() -> None:
    """The upper first molar's palatal root is 13 mm, a millimetre longer than the buccal ones."""
    # Nelson & Ash flash cards
    size = size_of(16)
    assert dict(zip(size.roots, size.root_mm, strict=True)) == {
        "mesiobuccal": 12.0, "distobuccal": 12.0, "palatal": 13.0
    }  # fmt: skip


def test_quadrants_follow_iso_3950() -> None:
    """Quadrants 1 and 4 are the patient's right, 1 and 2 the upper jaw; 32 teeth in all."""
    assert len(set(ALL_TEETH)) == 32
    assert [is_right(q * 10 + 1) for q in (1, 2, 3, 4)] == [True, False, False, True]
    assert [jaw_of(q * 10 + 1) for q in (1, 2, 3, 4)] == ["upper", "upper", "lower", "lower"]
    assert size_of(16) == size_of(26)


@pytest.mark.parametrize("number", [0, 10, 19, 50, 56, 86, 111])
def test_other_numbers_name_no_tooth(number: int) -> None:
    """Asking for a number that is no tooth raises and tells which are."""
    with pytest.raises(KeyError, match="11 to 18"):
        size_of(number)


def test_primary_quadrants_follow_iso_3950() -> None:
    """Twenty primary teeth: 5 and 8 the patient's right, 5 and 6 the upper jaw."""
    assert len(set(PRIMARY_TEETH)) == 20
    assert all(is_primary(f) for f in PRIMARY_TEETH)
    assert not any(is_primary(f) for f in ALL_TEETH)
    assert [is_right(q * 10 + 1) for q in (5, 6, 7, 8)] == [True, False, False, True]
    assert [jaw_of(q * 10 + 1) for q in (5, 6, 7, 8)] == ["upper", "upper", "lower", "lower"]


@pytest.mark.parametrize("fdi", [*ALL_TEETH, *PRIMARY_TEETH])
def test_kind_and_side_make_the_number(fdi: int) -> None:
    """A tooth's number follows from its kind and side."""
    assert fdi_of(*kind_of(fdi), is_right(fdi)) == fdi


@pytest.mark.parametrize(
    ("fdi", "crown", "root", "md"),
    [
        # widths of 51, 52 and 71 second-hand, the rest from memory: Ash & Nelson
        (51, 6.0, 10.0, 6.5), (62, 5.6, 11.4, 5.1), (53, 6.5, 13.5, 7.0), (64, 5.1, 10.0, 7.3),
        (55, 5.7, 11.7, 8.2), (71, 5.0, 9.0, 4.2), (82, 5.2, 10.0, 4.1), (73, 6.0, 11.5, 5.0),
        (84, 6.0, 9.8, 7.7), (75, 5.5, 11.3, 9.9),
    ],
)  # fmt: skip
def test_primary_rows(fdi: int, crown: float, root: float, md: float) -> None:
    """The primary rows stand as in the project's reference."""
    size = size_of(fdi)
    assert (size.crown_mm, max(size.root_mm), size.md_mm) == (crown, root, md)


@pytest.mark.parametrize(("jaw", "leeway"), [("upper", 0.9), ("lower", 1.7)])
def test_leeway_space(jaw: str, leeway: float) -> None:
    """Primary canine and molars are 0.9 or 1.7 mm (0.5) wider than what follows them."""
    # Nance 1947, per side (from memory)
    before = sum(SIZES[jaw, n].md_mm for n in (13, 14, 15))
    after = sum(SIZES[jaw, n].md_mm for n in (3, 4, 5))
    assert before - after == pytest.approx(leeway, abs=0.5)

"""The table of tooth sizes against ratios and counts published elsewhere."""

import pytest

from trainer.anatomy.tooth_tables import ALL_TEETH, SIZES, is_right, jaw_of, size_of


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


@pytest.mark.parametrize("number", [0, 10, 19, 51, 85, 111])
def test_other_numbers_name_no_permanent_tooth(number: int) -> None:
    """Asking for a number that is no permanent tooth raises and tells which are."""
    with pytest.raises(KeyError, match="11 to 18"):
        size_of(number)

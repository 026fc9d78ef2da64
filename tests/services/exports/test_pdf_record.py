"""The printed record, read back by pypdf."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections import Counter
from datetime import date

import numpy as np
import pytest
from helpers.exported import attempt, observation

from trainer.errors import NotValid
from trainer.models.learning import HelpLevel
from trainer.services.exports.pdf_record import (
    BANNER,
    MARGIN_PT,
    Paper,
    RecordPage,
    not_proved,
    record_pdf,
)

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("reportlab")
Image = pytest.importorskip("PIL.Image")
DRAWER = shutil.which("pdftoppm")

# ISO 216 A4 is 210 x 297 mm; North American Letter is 8.5 x 11 inch (ANSI/ASME Y14.1, size A).
SIZES_MM = {Paper.A4: (210.0, 297.0), Paper.LETTER: (215.9, 279.4)}
PT_A_MM = 72.0 / 25.4


def page_of(**changes) -> RecordPage:
    """A record of three attempts."""
    values = {
        "name": "Hazel",
        "printed_on": date(2026, 4, 2),
        "program": "0.1.0",
        "attempts": tuple(attempt(n) for n in range(3)),
        "titles": {"case-1": "Lower third molar near the canal"},
    }
    return RecordPage(**{**values, **changes})


def read(data: bytes):
    """The one page of a PDF file."""
    reader = pypdf.PdfReader(io.BytesIO(data), strict=True)
    assert len(reader.pages) == 1
    return reader.pages[0]


def words_of(data: bytes) -> str:
    """The page's text with all white space as one blank."""
    return " ".join(read(data).extract_text().split())


def starts_of(data: bytes) -> list[tuple[str, float, float]]:
    """Where lines of text start: text, left and base line [pt]."""
    found = []

    def see(text, cm, tm, font, size):
        # cm places the block on the page, tm the line in the block
        if text.strip():
            found.append((text.strip(), cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]))

    read(data).extract_text(visitor_text=see)
    return found


def ink_of(data: bytes, folder) -> np.ndarray:
    """The page drawn by poppler at 72 dots an inch, a dot a point: true where it is not white."""
    (folder / "page.pdf").write_bytes(data)
    subprocess.run(
        [DRAWER, "-r", "72", "-gray", "page.pdf", "page"], cwd=folder, check=True, timeout=30
    )
    (picture,) = folder.glob("page*.pgm")
    with Image.open(picture) as image:
        return np.asarray(image) < 200


MANY = tuple(
    attempt(n, critical=("target-outside", "identity-not-confirmed") if n % 4 == 0 else ())
    for n in range(200)
)
FULL = page_of(
    name="W" * 160,
    attempts=MANY,
    titles={f"case-{n}": "A title that is very much longer than the column " * 4 for n in range(3)},
    observations=tuple(
        observation(n, done_well="x" * 2000, aim="Word " * 400, setting="s" * 500) for n in range(9)
    ),
)


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("page", [page_of(), page_of(attempts=()), FULL], ids=["few", "no", "full"])
def test_one_page_of_the_right_size(page, paper):
    """There is one page, of the size that the standard gives, to half a millimetre."""
    box = read(record_pdf(page, paper)).mediabox
    for found, expected_mm in zip((box.width, box.height), SIZES_MM[paper], strict=True):
        assert float(found) / PT_A_MM == pytest.approx(expected_mm, abs=0.5)


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("page", [page_of(), FULL], ids=["few", "full"])
def test_all_text_is_inside_the_margins(page, paper):
    """Lines start inside the margins, and those one below the other keep a line's height apart."""
    width, height = (side * PT_A_MM for side in SIZES_MM[paper])
    starts = starts_of(record_pdf(page, paper))
    assert len(starts) > 20
    for text, left, base in starts:
        assert MARGIN_PT - 1.0 <= left <= width - MARGIN_PT, text
        assert MARGIN_PT <= base <= height - MARGIN_PT, text
    for one, (text, left, base) in enumerate(starts):
        for other, other_left, other_base in starts[one + 1 :]:
            down = abs(base - other_base)
            assert abs(left - other_left) > 1.0 or down < 0.1 or down > 9.0, (text, other)


@pytest.mark.skipif(DRAWER is None, reason="pdftoppm (poppler) is not installed")
@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("page", [page_of(), FULL], ids=["few", "full"])
def test_the_drawn_page_keeps_its_margins(page, paper, tmp_path):
    """Drawn by poppler, an independent reader, nothing stands in the margins, and text does below.

    The frame's line is 1.2 pt wide, so that a dot of it may lie outside.
    """
    ink = ink_of(record_pdf(page, paper), tmp_path)
    rows, columns = np.nonzero(ink)
    margin = MARGIN_PT - 2
    assert margin <= columns.min() and columns.max() <= ink.shape[1] - margin
    assert margin <= rows.min() and rows.max() <= ink.shape[0] - margin
    assert rows.max() > ink.shape[0] - MARGIN_PT - 20  # the caution stands at the foot


@pytest.mark.parametrize("paper", Paper)
def test_the_page_says_what_it_is_and_does_not_prove(paper):
    """Banner, name, date, version, each attempt's figures, limits, signature lines and caution."""
    words = words_of(record_pdf(page_of(), paper))
    for expected in (
        BANNER,
        "Hazel",
        "2026-04-02",
        "version 0.1.0",
        "2026-01-02",
        "Lower third molar near the canal",
        "91.5",
        "none failed",
        "reached",
        "What this page does not prove",
        "no clinical sign-off",
        "63.2 %",  # 1 - 0.05 ** (1 / 3)
        "1 − 0.05^(1/3)",
        "Supervisor's signature",
        "Not a medical device",
    ):
        assert expected in words, expected
    assert "own words" not in words and "overall" not in words


def test_the_newest_that_fit_are_listed():
    """Listed and left-out attempts add up, and the listed ones are the newest, newest first."""
    for paper in Paper:
        words = words_of(record_pdf(page_of(attempts=MANY), paper))
        dates = re.findall(r"2026-\d\d-\d\d", words.split("Mastery mark")[1])
        assert dates == sorted(dates, reverse=True)
        assert dates[0] == MANY[-1].finished_at.date().isoformat()
        left_out = int(re.search(r"(\d+) older exercises are left out", words)[1])
        assert len(dates) + left_out == len(MANY)
        assert len(dates) >= 15
        assert f"Of all {len(MANY)} exercises" in words  # the limit counts those left out, too


@pytest.mark.parametrize("paper", Paper)
def test_observations_give_way_to_exercises(paper):
    """However long the words, six exercises are listed and at least one observation."""
    words = words_of(record_pdf(FULL, paper))
    table, rest = words.split("What this page does not prove")
    assert len(re.findall(r"2026-\d\d-\d\d A title", table)) >= 6
    listed = len(re.findall(r"overall 4 of 5", rest))
    assert 1 <= listed < 3
    assert f"{9 - listed} older observations are left out." in rest


@pytest.mark.parametrize(("tries", "percent"), [(10, 25.9), (20, 13.9), (25, 11.3), (30, 9.5)])
def test_the_limit_of_a_clean_run_is_printed(tries, percent):
    """A clean run's limit is that of 1 - 0.05 ** (1 / n) (training reference, 4.2)."""
    words = words_of(record_pdf(page_of(attempts=tuple(attempt(n) for n in range(tries)))))
    assert f"up to {percent} % remains possible" in words


def test_critical_items_are_named_beside_the_score():
    """A failed critical item stands in words in the attempt's row, the help with its hints."""
    failed = attempt(
        1, critical=("target-outside",), mastered=False, help=HelpLevel.ON_REQUEST, hints=2
    )
    words = words_of(record_pdf(page_of(attempts=(failed,))))
    assert "FAILED: target outside" in words and "not reached" in words
    assert "on request (hints: 2)" in words


def test_a_supervisors_words_stand_apart():
    """Ratings come only from observations, in a block below the limits, as they were given."""
    data = record_pdf(page_of(observations=(observation(1),)))
    words = words_of(data)
    computed, given = words.split("A supervisor's own words")
    assert "given by a person, not computed" in given
    assert "overall 4 of 5" in given and "supervisor in the room" in given
    assert "Checked the midline from the front." in given and "Look at the person" in given
    assert "Hazel Rowan" not in computed and "of 5" not in computed
    more = words_of(record_pdf(page_of(observations=tuple(observation(n) for n in range(5)))))
    assert "2 older observations are left out." in more


@pytest.mark.parametrize(
    "name",
    ["Žofie Ødegård-Łęcka", "Анна Тополь", "Ελένη Ιτιά", "Նարե Կաղնի", "ნინო მუხა", "Zoe\u0308"],
)
def test_names_in_the_fonts_scripts_are_printed(name):
    """Latin, Greek, Cyrillic, Armenian and Georgian names come out letter for letter."""
    import unicodedata

    assert unicodedata.normalize("NFC", name) in words_of(record_pdf(page_of(name=name)))


@pytest.mark.parametrize(
    ("name", "letter"),
    [
        ("柳 Weide", "柳"),
        ("שיטה", "ש"),
        ("سرو", "س"),
        ("ไผ่", "ไ"),
        ("देवदार", "द"),
        ("Ash 🌳", "🌳"),
    ],
)
def test_a_name_that_cannot_be_printed_is_refused(name, letter):
    """Scripts that the font lacks or that run from right to left are named, not printed wrongly."""
    with pytest.raises(NotValid, match=f"cannot print: {letter}.*Latin letters"):
        record_pdf(page_of(name=name))


@pytest.mark.parametrize(("name", "words"), [("", "empty"), (" \n", "empty"), ("a" * 161, "161")])
def test_an_empty_or_endless_name_is_refused(name, words):
    """A name must have letters, 160 at most."""
    with pytest.raises(NotValid, match=words):
        record_pdf(page_of(name=name))


def test_a_letter_that_cannot_be_printed_elsewhere_is_told():
    """In a title it is replaced by a sign, and the page explains the sign; markup is plain text."""
    words = words_of(record_pdf(page_of(titles={"case-1": "智 <b>canal</b> & root"})))
    assert "� <b>canal</b> & root" in words
    assert "� stands for a letter that this page's font lacks." in words
    assert "�" not in words_of(record_pdf(page_of()))


def test_black_on_white_with_its_fonts_inside():
    """Every colour is black, white or none, and both fonts are embedded with their letters."""
    reader = pypdf.PdfReader(io.BytesIO(record_pdf(FULL)))
    page = reader.pages[0]
    content = pypdf.generic.ContentStream(page.get_contents(), reader)
    colours = [ops for ops, name in content.operations if name in (b"rg", b"RG", b"g", b"G")]
    assert colours
    assert all(len(set(map(float, ops))) == 1 and float(ops[0]) in (0.0, 1.0) for ops in colours)
    assert not [
        name for _, name in content.operations if name in (b"k", b"K", b"sc", b"scn", b"Do")
    ]
    fonts = [f.get_object() for f in page["/Resources"]["/Font"].values()]
    used = [f for f in fonts if "DejaVu" in f["/BaseFont"]]
    assert len({f["/BaseFont"] for f in used}) >= 2
    assert all("/FontFile2" in f["/FontDescriptor"] for f in used)


def test_the_same_bytes_on_every_run():
    """A record printed twice is the same file."""
    assert record_pdf(page_of()) == record_pdf(page_of())


def test_helped_exercises_are_no_evidence():
    """Only unassisted exercises count; without any, the page says that nothing is told."""
    helped = [attempt(n, help=HelpLevel.OPEN) for n in range(9)]
    assert "No exercise was done without help" in not_proved(helped)[-1]
    mixed = [*helped, attempt(9), attempt(10, critical=("target-outside",))]
    assert "Of all 2 exercises" in not_proved(mixed)[-1]
    counted = Counter(a.help.is_unassisted for a in mixed)
    assert counted == {True: 2, False: 9}

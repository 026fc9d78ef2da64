"""The tooth chart."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QImage

from trainer.app.desk.tooth_chart import ToothChart
from trainer.app.desk.tooth_places import PERMANENT, PRIMARY, permanent_places, primary_places
from trainer.scene.palette import INSIDE, PAPER, TEXT, TOOTH, contrast


@pytest.fixture
def chart(qtbot) -> ToothChart:
    """A shown chart."""
    made = ToothChart("Teeth")
    qtbot.addWidget(made)
    made.resize(330, 290)
    made.show()
    return made


def test_every_tooth_of_iso_3950_has_its_side(chart) -> None:
    """All 32 permanent and 20 milk teeth (ISO 3950) stand on the patient's own side and jaw."""
    assert sorted(permanent_places()) == sorted(PERMANENT)
    assert sorted(primary_places()) == sorted(PRIMARY)
    for fdi, tooth in {**permanent_places(), **primary_places()}.items():
        x, y = tooth.middle_mm
        quadrant = fdi // 10
        # one faces the patient: the right side is on the left of the screen
        assert (x < 0) == (quadrant in (1, 4, 5, 8)), fdi
        assert (y < 0) == (quadrant in (1, 2, 5, 6)), fdi


def test_neighbours_stand_beside_each_other() -> None:
    """Along each half arch every tooth lies nearer to its neighbour than to the next but one."""
    for places in (permanent_places(), primary_places()):
        for fdi in places:
            if fdi + 2 in places:
                one, two, three = (places[fdi + n].middle_mm for n in range(3))
                assert np.linalg.norm(two - one) < np.linalg.norm(three - one)


def test_a_click_toggles_the_tooth_under_it(qtbot, chart) -> None:
    """Pressing the middle of each tooth reports that tooth."""
    for fdi in PERMANENT:
        with qtbot.waitSignal(chart.toggled, timeout=1000) as told:
            at = chart.middle_of(fdi).toPoint()
            qtbot.mouseClick(chart, Qt.MouseButton.LeftButton, pos=at)
        assert told.args == [fdi]
    assert chart.tooth_at(QPointF(165.0, 145.0)) is None


def test_every_tooth_can_be_reached_by_keyboard(qtbot, chart) -> None:
    """Arrow keys alone lead through all teeth, and Space chooses the one that is reached."""
    chart.show_teeth([], milk=True)
    seen = {chart.at}
    for _ in range(4):
        for _ in range(16):
            qtbot.keyClick(chart, Qt.Key.Key_Left)
        for _ in range(16):
            seen.add(chart.at)
            qtbot.keyClick(chart, Qt.Key.Key_Right)
            seen.add(chart.at)
        qtbot.keyClick(chart, Qt.Key.Key_Down)
    assert seen == set(PERMANENT) | set(PRIMARY)
    with qtbot.waitSignal(chart.toggled, timeout=1000) as told:
        qtbot.keyClick(chart, Qt.Key.Key_Space)
    assert told.args == [chart.at]


def test_the_name_says_where_the_keyboard_is(qtbot, chart) -> None:
    """Screen readers are told the tooth and its state."""
    chart.show_teeth([11], [12])
    assert chart.accessibleName() == "Teeth: tooth 11, chosen"
    qtbot.keyClick(chart, Qt.Key.Key_Left)
    assert chart.accessibleName() == "Teeth: tooth 12, not chosen, missing"


def pixels(chart: ToothChart) -> np.ndarray:
    """What the chart shows: (h, w, 3)."""
    image = chart.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return raw[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)


def test_chosen_and_missing_teeth_are_marked_by_more_than_colour(chart) -> None:
    """A chosen tooth is filled and ticked, a missing one crossed from corner to corner."""
    chart.show_teeth([])
    before = pixels(chart)
    chart.show_teeth([46], [36])
    after = pixels(chart)
    shape, middle = chart._on_widget(chart.places[46])
    box = shape.boundingRect()
    fill = after[int(middle.y()) + 9, int(box.left()) + 8]
    np.testing.assert_array_equal(fill, INSIDE)
    # the tick stands on a light disc at the corner, where there was only paper
    corner = (slice(int(box.top()) - 3, int(box.top()) + 8), slice(int(box.right()) - 7, None))
    tick = (np.abs(after[corner][:, :12] - np.array(INSIDE)).sum(axis=2) < 40).sum()
    assert tick > 15
    gone = chart._on_widget(chart.places[36])[0].boundingRect()
    for x, y in ((gone.left() + 2, gone.top() + 1.5), (gone.right() - 2, gone.bottom() - 1.5)):
        near = (slice(int(y) - 2, int(y) + 3), slice(int(x) - 2, int(x) + 3))
        assert np.abs(after[near] - before[near]).max() > 60


def test_numbers_can_be_read() -> None:
    """Numbers stand out 4.5 to 1 from plain, chosen and missing teeth (WCAG 2.2, 1.4.3)."""
    for words, ground in ((TEXT, TOOTH), (PAPER, INSIDE), (TEXT, PAPER)):
        assert contrast(words, ground) >= 4.5

"""What the placement is worth."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.scene.standin import standin_case
from trainer.app.result_panel import (
    HIDDEN_HEADLINE,
    HIDDEN_TEXT,
    NEAREST_TITLE,
    RIGHT_TITLE,
    ResultPanel,
)
from trainer.app.structure_table import COLUMNS, WANTED_COLUMNS, row_texts, wanted_texts
from trainer.engine.advice import Advice
from trainer.engine.placement import place, worst
from trainer.engine.points import pack

ADVICE = Advice({"chin_height_mm": -24.0}, 12.0, True, 0.0, "Raise the chin support 12 mm: why.")


def plain(move) -> str:
    """What an advice says, with plain spaces."""
    return move.text.text().replace("\N{NO-BREAK SPACE}", " ")


@pytest.fixture
def placed(bench):
    """Makes placements of the stand-in case."""

    def make(**values):
        case = standin_case(**values)
        head = bench.meshes.head
        named = [*(r.structure for r in case.required), *case.wanted]
        points = pack(head.structure(key) for key in named)
        return place(case, head, points, bench.unit, case.start)

    return make


@pytest.fixture
def panel(qtbot, bench) -> ResultPanel:
    """A panel for the stand-in case."""
    made = ResultPanel()
    qtbot.addWidget(made)
    made.open_case(standin_case(), bench.unit)
    made.show()
    return made


def test_the_headline_says_what_is_cut_and_where(panel, placed) -> None:
    """With the tooth below the field the headline names it, the side and the amount."""
    placement = placed()
    panel.show_placement(placement)
    found = worst(placement.required)
    assert panel.headline.text().startswith("× Tooth 48 lies ")
    assert f"{-found.margin_mm:.1f}".removesuffix(".0") + " mm below the field" in (
        panel.headline.text()
    )
    assert panel.headline.property("state") == "missed"


def test_all_inside_is_said(panel, placed) -> None:
    """When everything holds the headline says so with a tick, in its own state."""
    panel.show_placement(placed(chin_height_mm=-24.0))
    assert panel.headline.text().startswith("✓ ")
    assert panel.headline.property("state") == "inside"
    assert panel.count.text() == "3 of 3 required structures inside"
    assert not panel.moves_title.isVisible()


def test_the_table_has_state_share_margin_and_way(panel, placed) -> None:
    """A row tells state in sign and word, the share, the margin, and how far to go which way."""
    placement = placed()
    panel.show_placement(placement)
    assert panel.table.rowCount() == len(placement.required) == 3
    shown = [panel.table.item(0, c).text() for c in range(len(COLUMNS))]
    found = worst(placement.required)
    assert shown == list(row_texts(found))
    assert shown[0] in ("× cut off", "× outside")
    assert shown[3].startswith("−")
    assert shown[4] == f"{found.lack_mm:.1f} up".replace(".0 ", " ")


def test_states_differ_in_words_and_signs(placed) -> None:
    """Inside, too close, cut off and outside have words of their own: colour is never alone."""
    states = {
        row_texts(s)[0]
        for height in (-60.0, -36.0, -33.0, -29.0, -28.0, -27.5, -24.0)
        for s in placed(chin_height_mm=height).required
    }
    assert states == {"✓ inside", "! too close", "× cut off", "× outside"}


def test_advice_can_be_taken(qtbot, panel, placed) -> None:
    """The first advice stands there with a button, and pressing it reports the changes."""
    panel.show_placement(placed())
    panel.show_advice((ADVICE,))
    move = panel.moves[0]
    assert move.isVisible()
    assert plain(move) == "Raise the chin support 12 mm"
    with qtbot.waitSignal(panel.advice_taken) as caught:
        move.button.click()
    assert caught.args[0] == {"chin_height_mm": -24.0}


def test_advice_goes_with_the_placement_it_was_for(panel, placed) -> None:
    """After another placement the old advice cannot be taken any more."""
    panel.show_placement(placed())
    panel.show_advice((ADVICE,))
    panel.show_placement(placed(chin_height_mm=-30.0))
    assert not panel.moves[0].button.isVisible()


def test_without_live_help_nothing_is_given_away(panel, placed) -> None:
    """With live help off, no result, table, advice or reason is visible."""
    panel.show_placement(placed())
    panel.show_advice((ADVICE,))
    panel.show_help(False)
    assert panel.headline.text() == HIDDEN_HEADLINE
    assert panel.count.text() == HIDDEN_TEXT
    for widget in (
        panel.table,
        panel.wanted,
        panel.wanted_title,
        panel.reasons,
        panel.moves[0],
        panel.moves_title,
    ):
        assert not widget.isVisible()
    panel.show_help(True)
    assert panel.table.isVisible()
    assert panel.moves[0].isVisible()


def test_reasons_are_sentences(panel, placed) -> None:
    """Attitude, field size and standing height are told as sentences with a sign."""
    panel.show_placement(placed(pitch_deg=15.0))
    lines = panel.reasons.text().splitlines()
    assert len(lines) == 5
    assert all(line[:2] in ("✓ ", "! ") and line.endswith(".") for line in lines)
    assert any(line.startswith("! ") and "15°" in line for line in lines)


def test_what_is_only_wanted_stands_apart(panel, placed) -> None:
    """A wanted structure has name, share and margin in a table of its own, and is not counted."""
    placement = placed()
    panel.show_placement(placement)
    (wanted,) = (s for s in placement.structures if s.required_margin_mm is None)
    shown = [panel.wanted.item(0, c).text() for c in range(len(WANTED_COLUMNS))]
    assert panel.wanted.rowCount() == 1
    assert shown == list(wanted_texts(wanted))
    assert shown[0] == "right mandibular canal"
    assert shown[1].endswith(" %")
    assert "not judged" in panel.wanted_title.text()
    assert panel.count.text().endswith("of 3 required structures inside")


def test_without_wanted_structures_there_is_no_list_of_them(qtbot, panel, bench, placed) -> None:
    """A case that wants nothing beside what it requires shows no second table."""
    panel.open_case(replace(standin_case(), wanted=()), bench.unit)
    panel.show_placement(placed())
    assert not panel.wanted.isVisible()
    assert not panel.wanted_title.isVisible()


def test_advice_that_does_not_suffice_promises_nothing(qtbot, panel, placed) -> None:
    """It stands under a heading of its own, as a list of controls with what still lacks."""
    changes = {"chin_height_mm": -24.0, "sideways_mm": 6.0, "pitch_deg": -3.0, "field": "60x60"}
    panel.show_placement(placed())
    panel.show_advice((Advice(changes, 40.0, False, 3.2, "Raise it and so on: why. It lacks."),))
    assert panel.moves_title.text() == NEAREST_TITLE
    assert plain(panel.moves[0]).splitlines() == [
        "• Chin support height: 24 mm down",
        "• Head sideways: 6 mm left",
        "• Head pitch: 3° chin down",
        "• Field size: 60 mm wide, 60 mm high",
        "• Still lacking: 3.2 mm",
    ]
    with qtbot.waitSignal(panel.advice_taken) as caught:
        panel.moves[0].button.click()
    assert caught.args[0] == changes
    panel.show_advice((ADVICE,))
    assert panel.moves_title.text() == RIGHT_TITLE


def test_rows_grow_when_the_panel_gets_narrow(qtbot, panel, placed) -> None:
    """In a narrow panel names take more lines, rows grow with them, and no column is cut off."""
    placement = placed()
    long_named = [
        s._replace(structure=replace(s.structure, name="the tip of the front root of 48"))
        for s in placement.structures
    ]
    panel.resize(700, 500)
    panel.show_placement(replace(placement, structures=tuple(long_named)))
    qtbot.wait(20)
    wide = panel.table.rowHeight(0)
    panel.resize(panel.minimumSizeHint().width(), 500)
    qtbot.waitUntil(lambda: panel.table.rowHeight(0) > wide)
    header = panel.table.horizontalHeader()
    assert header.length() <= panel.table.viewport().width()
    rows = sum(panel.table.rowHeight(i) for i in range(panel.table.rowCount()))
    assert rows <= panel.table.viewport().height()

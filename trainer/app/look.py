"""How the window looks: one style sheet from the palette; sizes follow the system's font."""

from __future__ import annotations

from PySide6.QtGui import QColor, QPalette

from trainer.scene.palette import (
    FIELD_LINE,
    GROUND,
    INSIDE,
    INSIDE_GROUND,
    LINE,
    MISSED,
    MISSED_GROUND,
    PAPER,
    QUIET_TEXT,
    TEXT,
    Rgb,
    css,
)


def palette() -> QPalette:
    """Colours for what the style sheet leaves to Qt's own plain style (entries, lists, focus)."""
    found = QPalette()
    roles: dict[QPalette.ColorRole, Rgb] = {
        QPalette.ColorRole.Window: GROUND,
        QPalette.ColorRole.Base: PAPER,
        QPalette.ColorRole.AlternateBase: GROUND,
        QPalette.ColorRole.Button: GROUND,
        QPalette.ColorRole.WindowText: TEXT,
        QPalette.ColorRole.Text: TEXT,
        QPalette.ColorRole.ButtonText: TEXT,
        QPalette.ColorRole.PlaceholderText: QUIET_TEXT,
        QPalette.ColorRole.ToolTipBase: PAPER,
        QPalette.ColorRole.ToolTipText: TEXT,
        QPalette.ColorRole.Highlight: FIELD_LINE,
        QPalette.ColorRole.HighlightedText: PAPER,
    }
    for role, colour in roles.items():
        found.setColor(role, QColor(*colour))
    return found


def style_sheet() -> str:
    """The style sheet of the whole window."""
    return f"""
    QWidget {{ color: {css(TEXT)}; }}
    QMainWindow, QDialog, QScrollArea, QScrollArea > #qt_scrollarea_viewport > QWidget {{
        background: {css(GROUND)}; }}
    QLineEdit, QPlainTextEdit {{ placeholder-text-color: {css(QUIET_TEXT)}; }}
    QGroupBox {{ background: {css(PAPER)}; border: 1px solid #d5dbe1; border-radius: 5px;
        margin-top: 1.15em; padding-top: 1px; }}
    QGroupBox::title {{ subcontrol-origin: margin; subcontrol-position: top left; left: 4px;
        font-weight: bold; color: {css(QUIET_TEXT)}; }}
    QPushButton {{ background: {css(GROUND)}; border: 1px solid {css(LINE)}; border-radius: 4px;
        padding: 2px 4px; }}
    QPushButton:hover {{ background: {css(INSIDE_GROUND)}; }}
    QPushButton:pressed {{ background: #cfe2f5; }}
    QPushButton:disabled, QLabel:disabled {{ color: {css(QUIET_TEXT)}; }}
    QPushButton:focus, QListWidget:focus, QTableWidget:focus {{
        border: 2px solid {css(FIELD_LINE)}; }}
    QCheckBox:focus {{ background: {css(INSIDE_GROUND)}; outline: 2px solid {css(FIELD_LINE)}; }}
    QMenuBar, QMenu, QStatusBar {{ background: {css(GROUND)}; }}
    QMenu::item:selected, QMenuBar::item:selected {{ background: {css(INSIDE)};
        color: {css(PAPER)}; }}
    QTableWidget {{ background: {css(PAPER)}; border: 1px solid #d5dbe1;
        gridline-color: #e3e7eb; selection-background-color: {css(INSIDE_GROUND)};
        selection-color: {css(TEXT)}; }}
    QHeaderView::section {{ background: {css(GROUND)}; border: 0; padding: 3px 4px;
        color: {css(QUIET_TEXT)}; }}
    QListWidget {{ background: {css(PAPER)}; border: 1px solid {css(LINE)}; }}
    QListWidget::item {{ padding: 5px; }}
    QListWidget::item:selected {{ background: {css(INSIDE)}; color: {css(PAPER)}; }}
    QSplitter::handle {{ background: #d5dbe1; }}
    QToolTip {{ background: {css(PAPER)}; color: {css(TEXT)}; border: 1px solid {css(LINE)}; }}
    #caseTitle {{ font-size: 14pt; font-weight: bold; }}
    #request, #quiet {{ color: {css(QUIET_TEXT)}; }}
    #sheet {{ background: {css(PAPER)}; }}
    #headline {{ font-size: 14pt; font-weight: bold; padding: 8px; border-radius: 6px; }}
    #headline[state="missed"] {{ color: {css(MISSED)}; background: {css(MISSED_GROUND)};
        border: 2px solid {css(MISSED)}; }}
    #headline[state="inside"] {{ color: {css(INSIDE)}; background: {css(INSIDE_GROUND)};
        border: 2px solid {css(INSIDE)}; }}
    #headline[state="hidden"] {{ color: {css(TEXT)}; background: {css(PAPER)};
        border: 1px solid {css(LINE)}; }}
    #notice {{ background: {css(MISSED_GROUND)}; border: 2px solid {css(MISSED)};
        border-radius: 4px; padding: 5px; }}
    #moveText {{ font-size: 11pt; font-weight: bold; }}
    #moveText[list="true"] {{ font-size: 9pt; font-weight: normal; }}
    #act {{ text-align: left; padding: 3px 7px; }}
    #act:checked {{ background: {css(INSIDE_GROUND)}; }}
    #flatTitle {{ text-align: left; border: 0; border-radius: 0; padding: 3px 7px;
        color: {css(QUIET_TEXT)}; }}
    #flatTitle:focus {{ border: 2px solid {css(FIELD_LINE)}; }}
    #hold {{ background: {css(PAPER)}; border: 2px solid {css(LINE)}; font-weight: bold; }}
    #hold:enabled {{ border: 2px solid {css(MISSED)}; color: {css(MISSED)}; }}
    #hold:focus {{ background: {css(MISSED_GROUND)}; }}
    #hold:pressed {{ background: {css(MISSED)}; color: {css(PAPER)}; }}
    #phases::item {{ padding: 2px 6px; }}
    #events {{ border: 1px solid #d5dbe1; }}
    #events::item {{ padding: 1px 4px; }}
    #events::item:selected {{ background: {css(INSIDE_GROUND)}; color: {css(TEXT)}; }}
    #card {{ background: {css(PAPER)}; border: 1px solid #d5dbe1; border-radius: 4px;
        padding: 4px 7px; }}
    #roomNote {{ background: {css(PAPER)}; font-size: 12pt; color: {css(QUIET_TEXT)}; }}
    #shift, #seen {{ background: {css(PAPER)}; border: 1px solid #d5dbe1; border-radius: 4px;
        padding: 4px 7px; }}
    QTextBrowser {{ background: {css(PAPER)}; border: 1px solid #d5dbe1; }}
    QTextBrowser:focus {{ border: 2px solid {css(FIELD_LINE)}; }}
    QTabBar::tab {{ background: {css(GROUND)}; border: 1px solid #d5dbe1; padding: 4px 12px; }}
    QTabBar::tab:selected {{ background: {css(PAPER)}; border-bottom: 2px solid {css(FIELD_LINE)};
        font-weight: bold; }}
    QTabBar::tab:disabled {{ color: {css(QUIET_TEXT)}; }}
    QTabBar:focus {{ border: 2px solid {css(FIELD_LINE)}; }}
    QTabWidget::pane {{ border: 1px solid #d5dbe1; background: {css(PAPER)}; }}
    QProgressBar {{ background: {css(PAPER)}; border: 1px solid {css(LINE)}; border-radius: 4px; }}
    QProgressBar::chunk {{ background: {css(INSIDE)}; }}
    #section {{ font-weight: bold; color: {css(QUIET_TEXT)}; }}
    """

"""The file's text, read only, with the line of a field marked."""

from __future__ import annotations

from PySide6.QtGui import QColor, QFontDatabase, QTextCharFormat, QTextCursor, QTextFormat
from PySide6.QtWidgets import QPlainTextEdit, QTextEdit

from trainer.scene.palette import INSIDE_GROUND


class FilePane(QPlainTextEdit):
    """Shows the text as it would be saved now."""

    def __init__(self) -> None:
        super().__init__()
        self.setReadOnly(True)
        self.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.setAccessibleName("Text of the file")
        self.setTabChangesFocus(True)
        self.line = 0

    def show_text(self, text: str) -> None:
        """Show that text; what was in view stays in view."""
        if text == self.toPlainText():
            return
        place = self.verticalScrollBar().value()
        self.setPlainText(text)
        self.verticalScrollBar().setValue(place)
        self._mark()

    def mark_line(self, line: int) -> None:
        """Mark that line (from 1; 0 for none) and bring it into view."""
        self.line = line
        self._mark()
        block = self.document().findBlockByNumber(line - 1)
        if line > 0 and block.isValid():
            self.setTextCursor(QTextCursor(block))
            self.centerCursor()

    def _mark(self) -> None:
        block = self.document().findBlockByNumber(self.line - 1)
        if self.line < 1 or not block.isValid():
            self.setExtraSelections([])
            return
        mark = QTextEdit.ExtraSelection()
        look = QTextCharFormat()
        look.setBackground(QColor(*INSIDE_GROUND))
        look.setProperty(QTextFormat.Property.FullWidthSelection, True)
        look.setFontUnderline(True)
        mark.format = look
        mark.cursor = QTextCursor(block)
        self.setExtraSelections([mark])

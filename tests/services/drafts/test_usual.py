"""What holds when a case leaves a key out."""

from __future__ import annotations

import pytest

from trainer.services.drafts.usual import usual_words


@pytest.mark.parametrize(
    ("where", "words"),
    [
        # docs/case-files.md says each of these
        (("subject", "age_years"), "40"),
        (("visit", "items", 0, "metal"), "yes"),
        (("visit", "card", "authorised"), "yes"),
        (("visit", "items", 3, "worn"), "yes"),
        (("subject", "sizes", "head_length_sd"), "0"),
        (("subject", "profile"), "class 1"),
        (("visit", "pregnancy"), "no"),
        (("visit", "image_answers"), ""),
        (("visit", "waiting"), ""),
        (("level",), ""),
        (("visit", "no_such_key"), ""),
    ],
)
def test_usual_values(where: tuple[str | int, ...], words: str) -> None:
    """The usual value of a key that is left out is the model's default."""
    assert usual_words(where) == words

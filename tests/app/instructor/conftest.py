"""The instructor's tests use the learners' fixtures."""

from tests.app.learners.conftest import (  # noqa: F401
    _quick,
    door,
    enter,
    hands,
    hazel,
    heron,
    records,
    shelf,
)

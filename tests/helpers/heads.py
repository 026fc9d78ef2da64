"""Whole heads for tests: each built once in a process, and how many a test may ask for."""

from __future__ import annotations

import os
from functools import lru_cache

from hypothesis import HealthCheck, Phase, settings

from trainer.anatomy.head.build import build_head
from trainer.anatomy.head.phantom import build_phantom
from trainer.models.images import Phantom
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import Person

# A search looks at so many times as many people.
SEARCH_TIMES = 25


@lru_cache(maxsize=16)
def built(person: Person) -> HeadMeshes:
    """The person's head; takes three to six seconds the first time."""
    return build_head(person)


@lru_cache(maxsize=2)
def coarse_phantom(person: Person) -> Phantom:
    """The person's phantom in voxels of 3 mm: enough for places, quick to make."""
    return build_phantom(person, 3.0)


def few(examples: int) -> settings:
    """Settings for a test whose every example takes seconds: not shrunk when it fails."""
    search = os.environ.get("HYPOTHESIS_PROFILE") == "search"
    return settings(
        max_examples=examples * (SEARCH_TIMES if search else 1),
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=[HealthCheck.too_slow],
    )

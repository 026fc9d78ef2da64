"""A written exercise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from trainer.models.appointment_visit import Visit
from trainer.models.learning import Task
from trainer.models.setup import Setup
from trainer.models.subject import Subject


class ReferencePlane(StrEnum):
    """The plane that the task wants level with the floor."""

    FRANKFORT = "frankfort"
    UPPER_OCCLUSAL = "upper-occlusal"
    LOWER_OCCLUSAL = "lower-occlusal"


@dataclass(frozen=True, slots=True)
class Requirement:
    """A structure that must lie inside, at least ``margin_mm`` away from the field's edge."""

    structure: str
    margin_mm: float


@dataclass(frozen=True, slots=True)
class AttitudeLimits:
    """How far the head may be turned away from the task's reference plane [deg].

    Orientation can be mended by reslicing and so is told, not failed; the limits say when it is
    worth telling. ``tilt_allowed``: a tilt on purpose is right here (metal, a stiff neck, broad
    shoulders), so these limits are also what scores in full, whatever the local rules say.
    """

    reference_plane: ReferencePlane
    pitch_deg: float
    yaw_deg: float
    roll_deg: float
    tilt_allowed: bool = False


@dataclass(frozen=True, slots=True)
class Case:
    """A case: person, request, unit, start, what must be inside.

    Texts are by language code. ``guard_rim_mm`` is kept free at the field's edge: it
    is left out of every inside share, and every required margin counts from its inner side.
    ``groove_off_mm`` is given where the unit makes panoramic pictures: how far the front teeth may
    stand from the groove and from the midline; there the attitude weighs too, since nothing can be
    resliced.
    ``visit`` is the script of the appointment, under the local rules ``rules_id``; without one the
    case is an exercise in placing only. ``task`` is the kind of target, where the file names it
    (`engine.judgement.tasks.task_of` knows it always).
    """

    id: str
    level: int
    title: Mapping[str, str]
    request: Mapping[str, str]
    aim: Mapping[str, str]
    subject: Subject
    unit_id: str
    start: Setup
    required: tuple[Requirement, ...]
    wanted: tuple[str, ...]
    attitude: AttitudeLimits
    guard_rim_mm: float
    visit: Visit | None = None
    rules_id: str = ""
    task: Task | None = None
    groove_off_mm: float | None = None

    def text(self, texts: Mapping[str, str], language: str = "en") -> str:
        """The text in the language, else in English, else in any."""
        return texts.get(language) or texts.get("en") or next(iter(texts.values()))

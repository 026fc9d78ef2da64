"""Which finding feeds which part of a score, and how much it counts there.

The weights of the blocks are the local rules' (training reference, 5.2: own proposal); what a row
counts inside its block is our own working value. Orientation earns little, since a turned head can
be put right in the finished volume; what is cut off cannot (training reference, 2.3). Movement by
chance earns and costs nothing: what the operator can do against it is scored, and an image that
movement spoils completes nothing. Time is shown, never scored.
"""

from __future__ import annotations

from typing import NamedTuple

from trainer.engine.judgement.basis import Finder, looked_from, step, without_slips
from trainer.engine.judgement.placed import (
    PITCH,
    ROLL,
    YAW,
    centring,
    field_as_ordered,
    in_groove,
    signs,
    structures,
    turned,
)
from trainer.models.appointment_words import View
from trainer.models.learning import Block
from trainer.models.slips import SlipCode


class Row(NamedTuple):
    """One row: its block, a stable key, its name, what it counts there, and what it looks at."""

    block: Block
    key: str
    name: str
    counts: int
    find: Finder


_RIGHT_PLACE = without_slips(SlipCode.WRONG_SIDE_OR_TOOTH)
_RIGHT_PROGRAMME = without_slips(SlipCode.WRONG_PROTOCOL)
_RIGHT_NAME = without_slips(SlipCode.WRONG_NAME)
_SOFT_PARTS = without_slips(SlipCode.TONGUE_OR_LIPS)

ROWS: tuple[Row, ...] = (
    Row(Block.PREPARATION, "request-read", "Request read", 2, step(1)),
    Row(Block.PREPARATION, "authorisation", "Authorisation", 3, step(2)),
    Row(Block.PREPARATION, "room", "Room prepared", 2, step(3)),
    Row(Block.PREPARATION, "identity", "Identity", 3, step(5)),
    Row(Block.PREPARATION, "pregnancy", "Pregnancy, by the local rule", 3, step(6)),
    Row(Block.PREPARATION, "history", "History", 2, step(7)),
    Row(Block.PREPARATION, "metal", "Metal taken off", 3, step(8)),
    Row(Block.PREPARATION, "shielding", "Shielding, by the local rule", 2, step(9)),
    Row(Block.PRESCRIPTION, "place", "Region, side and tooth as ordered", 4, _RIGHT_PLACE),
    Row(Block.PRESCRIPTION, "field", "Field as ordered", 3, field_as_ordered),
    Row(Block.PRESCRIPTION, "programme", "Programme as ordered", 3, _RIGHT_PROGRAMME),
    Row(Block.PRESCRIPTION, "name", "Under the right name", 2, _RIGHT_NAME),
    Row(Block.PRESCRIPTION, "bite", "Bite as ordered", 3, step(14)),
    Row(Block.POSITION, "structures", "Required structures", 20, structures),
    Row(Block.POSITION, "centring", "Target in the field's middle", 5, centring),
    Row(Block.POSITION, "groove", "Front teeth in the groove", 5, in_groove),
    Row(Block.POSITION, "pitch", "Pitch against the task's plane", 1, turned(PITCH)),
    Row(Block.POSITION, "yaw", "Face straight", 1, turned(YAW)),
    Row(Block.POSITION, "roll", "Head upright", 1, turned(ROLL)),
    Row(Block.POSITION, "height", "Height of the unit", 1, step(13)),
    Row(Block.POSITION, "from-the-front", "Checked from the front", 1, looked_from(View.FRONT)),
    Row(Block.POSITION, "from-the-side", "Checked from the side", 1, looked_from(View.SIDE)),
    Row(Block.POSITION, "lights", "Centred by the lights", 2, step(17)),
    Row(Block.POSITION, "scouts", "Scouts used", 2, step(20)),
    Row(Block.STABILITY, "greeting", "Called and greeted", 1, step(4)),
    Row(Block.STABILITY, "explanation", "Explained", 2, step(10)),
    Row(Block.STABILITY, "stance", "Standing or sitting", 1, step(12)),
    Row(Block.STABILITY, "holding", "Held steady and looked at again", 2, step(18)),
    Row(Block.STABILITY, "soft-parts", "Tongue and lips asked for", 2, _SOFT_PARTS),
    Row(Block.STABILITY, "last-words", "Last words", 2, step(21)),
    Row(Block.EXPOSURE, "free-path", "Free path", 2, step(19)),
    Row(Block.EXPOSURE, "watching", "Alone inside, and watched", 4, step(22)),
    Row(Block.EXPOSURE, "reacting", "Reacted", 2, step(23)),
    Row(Block.EXPOSURE, "freeing", "Person freed", 2, step(24)),
    Row(Block.REVIEW, "checking", "Image checked and graded", 3, step(25)),
    Row(Block.REVIEW, "signs", "Signs of the faults", 3, signs),
    Row(Block.REVIEW, "retake", "Repeat decided", 2, step(26)),
    Row(Block.REVIEW, "record", "Recorded", 3, step(27)),
    Row(Block.REVIEW, "cleaning", "Cleaned", 1, step(28)),
    Row(Block.REVIEW, "quality", "Quality programme", 1, step(29)),
)

"""The closed lists of an appointment: what can be asked, fitted, said, worn, looked at and decided.

The values are the words in logs and files. Practice behind them: textbook knowledge of a dental
operator's work, from memory, unless a line says otherwise.
"""

from __future__ import annotations

from enum import StrEnum


class Topic(StrEnum):
    """What the practitioner can be asked."""

    AUTHORISATION = "authorisation"
    REQUEST = "request"
    PREGNANCY = "pregnancy"
    PROTOCOL = "protocol"
    SPACER = "spacer"
    RETAKE = "retake"


class Support(StrEnum):
    """Parts that hold or guide the head and can be fitted to the unit."""

    CHIN_REST = "chin-rest"
    TOOTHLESS_CHIN_REST = "toothless-chin-rest"
    BITE_PIECE = "bite-piece"
    EAR_RODS = "ear-rods"
    NOSE_REST = "nose-rest"
    FOREHEAD_REST = "forehead-rest"
    TEMPLE_SUPPORTS = "temple-supports"
    HEAD_STRAP = "head-strap"


# Supports that are closed onto the head and turn it a little while they are.
BANDS = (Support.FOREHEAD_REST, Support.TEMPLE_SUPPORTS, Support.HEAD_STRAP)


class Firmness(StrEnum):
    """How a band sits."""

    LOOSE = "loose"
    SNUG = "snug"
    HARD = "hard"


class Hygiene(StrEnum):
    """One act of cleaning."""

    SURFACES = "surfaces"
    BARRIERS_ON = "barriers-on"
    BARRIERS_OFF = "barriers-off"
    HANDS = "hands"


class UnitPosition(StrEnum):
    """Where the unit's moving part stands."""

    ENTRY = "entry"
    WORK = "work"
    EXIT = "exit"


class CallBy(StrEnum):
    """How somebody is called from the waiting room."""

    SURNAME = "surname"
    FULL_NAME = "full-name"


class IdentityItem(StrEnum):
    """What identity is checked by."""

    NAME = "name"
    BIRTH_DATE = "birth-date"
    ADDRESS = "address"


class PregnancyAnswer(StrEnum):
    """What the person says to the question of pregnancy."""

    NO = "no"
    YES = "yes"
    NOT_SURE = "not-sure"
    NO_ANSWER = "no-answer"


class HistoryTopic(StrEnum):
    """What of the person's history matters now."""

    SHAKING = "shaking"
    NECK = "neck"
    FAINTING = "fainting"
    GAGGING = "gagging"
    HEARING = "hearing"
    FEAR = "fear"
    EARLIER_SCANS = "earlier-scans"


class Trait(StrEnum):
    """What is special about a person. Age bands come from the years (`models.motion.AgeBand`)."""

    TREMOR = "tremor"
    ANXIOUS = "anxious"
    FIDGETS = "fidgets"
    STIFF_NECK = "stiff-neck"
    KYPHOSIS = "kyphosis"
    HARD_OF_HEARING = "hard-of-hearing"
    GAG_REFLEX = "gag-reflex"
    FAINTS = "faints"
    WHEELCHAIR = "wheelchair"
    SHORT_NECK = "short-neck"
    LARGE_SHOULDERS = "large-shoulders"
    LONG_HAIR = "long-hair"
    THICK_CLOTHES = "thick-clothes"
    TOOTHLESS = "toothless"
    FIXED_APPLIANCE = "fixed-appliance"


class WornPlace(StrEnum):
    """Where a removable thing sits."""

    EYES = "eyes"
    EARS = "ears"
    HAIR = "hair"
    NOSE = "nose"
    LIP = "lip"
    TONGUE = "tongue"
    UPPER_TEETH = "upper-teeth"
    LOWER_TEETH = "lower-teeth"
    NECK = "neck"


class Shield(StrEnum):
    """A shield that is worn."""

    NONE = "none"
    COLLAR_LOW = "collar-low"
    COLLAR_HIGH = "collar-high"
    APRON = "apron"


class Sentence(StrEnum):
    """What can be said when the examination is explained; five of the nine serve the patient."""

    WHAT_MOVES = "what-moves"
    HOW_LONG = "how-long"
    NOISE = "noise"
    KEEP_STILL_EYES = "keep-still-eyes"
    HAND_SIGNAL = "hand-signal"
    TUBE_VOLTAGE = "tube-voltage"
    NEVER_HURTS_ANYONE = "never-hurts-anyone"
    DO_NOT_WORRY = "do-not-worry"
    OTHER_CASES = "other-cases"


USEFUL_SENTENCES = (
    Sentence.WHAT_MOVES,
    Sentence.HOW_LONG,
    Sentence.NOISE,
    Sentence.KEEP_STILL_EYES,
    Sentence.HAND_SIGNAL,
)


class Instruction(StrEnum):
    """What the person can be asked to do."""

    HAIR_BACK = "hair-back"
    CLOTHES_CLEAR = "clothes-clear"
    SHOULDERS_LOW = "shoulders-low"
    BACK_STRAIGHT = "back-straight"
    HANDS_RESTING = "hands-resting"
    BITE_GENTLY = "bite-gently"
    TONGUE_UP = "tongue-up"
    LIPS_CLOSED = "lips-closed"
    SWALLOW_ONCE = "swallow-once"
    STAY_STILL = "stay-still"
    BREATHE_QUIETLY = "breathe-quietly"


class Stance(StrEnum):
    """How the person is placed at the unit."""

    STANDING = "standing"
    SEATED = "seated"
    OWN_WHEELCHAIR = "own-wheelchair"


class MetalLevel(StrEnum):
    """How strongly the reconstruction corrects for metal."""

    OFF = "off"
    LOW = "low"
    HIGH = "high"


class RunKind(StrEnum):
    """Whether the run is a preview in few views or the full examination."""

    PREVIEW = "preview"
    FULL = "full"


class SpacerKind(StrEnum):
    """What holds the arches apart."""

    ROLL = "roll"
    BLOCK = "block"


class ArchPlace(StrEnum):
    """Where along the arch a spacer lies."""

    INCISORS = "incisors"
    PREMOLARS = "premolars"
    MOLARS = "molars"


class View(StrEnum):
    """Where the operator looks from."""

    FRONT = "front"
    SIDE = "side"


class ScoutKind(StrEnum):
    """Which way a scout is taken."""

    FRONTAL = "frontal"
    LATERAL = "lateral"


class CutSide(StrEnum):
    """Where a picture cuts the target off, in the patient's words."""

    LEFT = "left"
    RIGHT = "right"
    FRONT = "front"
    BACK = "back"
    TOP = "top"
    BOTTOM = "bottom"


class Gaze(StrEnum):
    """What the operator's eyes are on."""

    PATIENT = "patient"
    SCREEN = "screen"
    ELSEWHERE = "elsewhere"


class Touch(StrEnum):
    """What the moving part can touch."""

    HEAD = "head"
    SHOULDERS = "shoulders"
    CHAIR = "chair"
    HAIR = "hair"
    CLOTHES = "clothes"


# Touches that the unit's own contact stop answers; the others pull and slip past.
STOPPING_TOUCHES = (Touch.HEAD, Touch.SHOULDERS, Touch.CHAIR)


class Interlock(StrEnum):
    """What keeps the unit from exposing."""

    ARM_TURNED = "arm-turned"
    DOOR_OPEN = "door-open"
    UNIT_MOVING = "unit-moving"
    NOT_IN_WORK_POSITION = "not-in-work-position"
    NOT_READY = "not-ready"
    NOT_YET_STEADY = "not-yet-steady"
    OPERATOR_INSIDE = "operator-inside"


class RunEnd(StrEnum):
    """How a run ended."""

    COMPLETE = "complete"
    RELEASED = "released"
    TOUCHED = "touched"


class ImagePoint(StrEnum):
    """What of the image is checked."""

    PERSON = "person"
    SIDE = "side"
    COVERAGE = "coverage"
    MOTION = "motion"
    METAL = "metal"


class Grade(StrEnum):
    """A: diagnostically acceptable; N: not acceptable.

    Source: SDCEP practice support manual, citing national guidance.
    """

    A = "A"
    N = "N"


class RetakeCause(StrEnum):
    """Why an image does not answer, in the order of how often it happens.

    Own list after the causes in "Image retake rates of CBCT in a dental institution", Clin Oral
    Investig 2020 (coverage 57.5 %, motion 27.5 %). The head's position spoils panoramic pictures
    only; a volume can be resliced.
    """

    COVERAGE = "coverage"
    MOTION = "motion"
    HEAD_POSITION = "head-position"
    METAL = "metal-or-appliance"
    PROTOCOL = "wrong-protocol"
    PLACE_OR_PERSON = "wrong-side-or-person"
    TECHNICAL = "technical"
    OTHER = "other"


class QualityCheck(StrEnum):
    """A duty of the quality programme."""

    DAILY_CHECK = "daily-check"
    TEST_OBJECT = "test-object"
    REJECT_LOG = "reject-log"
    DISPLAY_CHECK = "display-check"


class CriticalItem(StrEnum):
    """What no other merit makes up for. A local panel may change the list."""

    NOT_AUTHORISED = "exposure-not-authorised"
    IDENTITY = "identity-not-confirmed"
    PREGNANCY_RULE = "pregnancy-rule-not-followed"
    WRONG_PLACE_OR_PERSON = "wrong-side-region-or-person"
    TARGET_OUTSIDE = "target-outside"
    METAL = "avoidable-metal-across-target"
    OTHERS_INSIDE = "other-person-in-room"
    NOT_WATCHED = "person-not-watched"
    RETAKE = "needless-or-unmended-retake"
    NOT_RECORDED = "rejected-exposure-not-recorded"


class Done(StrEnum):
    """What became of one of the operator's steps."""

    DONE = "done"
    PARTLY = "partly"
    LATE = "late"
    SKIPPED = "skipped"
    NOT_NEEDED = "not-needed"


class WithholdReason(StrEnum):
    """Why an examination is not carried out today."""

    NOT_AUTHORISED = "not-authorised"
    REQUEST_UNCLEAR = "request-unclear"
    WRONG_PERSON = "wrong-person"
    PREGNANCY = "pregnancy"
    CANNOT_KEEP_STILL = "cannot-keep-still"
    OTHER = "other"

"""What the operator says and does, in plain words, for every value of the closed lists."""

from __future__ import annotations

from trainer.models.appointment_words import (
    ArchPlace,
    CutSide,
    Firmness,
    Grade,
    HistoryTopic,
    Hygiene,
    IdentityItem,
    ImagePoint,
    Instruction,
    Interlock,
    MetalLevel,
    QualityCheck,
    RetakeCause,
    RunKind,
    ScoutKind,
    Sentence,
    Shield,
    SpacerKind,
    Stance,
    Support,
    Topic,
    Touch,
    UnitPosition,
    WithholdReason,
    WornPlace,
)

TOPICS = {
    Topic.AUTHORISATION: "“Is this exposure authorised?”",
    Topic.REQUEST: "“What exactly do you want to see?”",
    Topic.PREGNANCY: "“Given the answer on pregnancy, shall I go on?”",
    Topic.PROTOCOL: "“Which protocol do you want?”",
    Topic.SPACER: "“Teeth together or apart?”",
    Topic.RETAKE: "“Does this image answer, or repeat it?”",
}
SUPPORTS = {
    Support.CHIN_REST: "chin rest",
    Support.TOOTHLESS_CHIN_REST: "chin rest for toothless jaws",
    Support.BITE_PIECE: "bite piece",
    Support.EAR_RODS: "ear rods",
    Support.NOSE_REST: "nose rest",
    Support.FOREHEAD_REST: "forehead rest",
    Support.TEMPLE_SUPPORTS: "temple supports",
    Support.HEAD_STRAP: "head strap",
}
FIRMNESS = {Firmness.LOOSE: "open", Firmness.SNUG: "snug", Firmness.HARD: "hard"}
HYGIENE = {
    Hygiene.SURFACES: "Wipe the surfaces down",
    Hygiene.BARRIERS_ON: "Put fresh barriers on",
    Hygiene.BARRIERS_OFF: "Take the barriers off",
    Hygiene.HANDS: "Clean your hands",
}
POSITIONS = {
    UnitPosition.ENTRY: "Send the unit to its entry position",
    UnitPosition.WORK: "Send the unit to its work position",
    UnitPosition.EXIT: "Send the unit to its exit position",
}
POSITION_NAMES = {
    UnitPosition.ENTRY: "entry position",
    UnitPosition.WORK: "work position",
    UnitPosition.EXIT: "exit position",
}
OPEN_QUESTIONS = {
    IdentityItem.NAME: "“What is your name?”",
    IdentityItem.BIRTH_DATE: "“When were you born?”",
    IdentityItem.ADDRESS: "“Where do you live?”",
}
LEADING_QUESTIONS = {
    IdentityItem.NAME: "“You are {}?”",
    IdentityItem.BIRTH_DATE: "“You were born on {}?”",
    IdentityItem.ADDRESS: "“You live at {}?”",
}
HISTORY = {
    HistoryTopic.SHAKING: "“Do your hands or head shake?”",
    HistoryTopic.NECK: "“Is your neck stiff or sore?”",
    HistoryTopic.FAINTING: "“Do you faint or get dizzy?”",
    HistoryTopic.GAGGING: "“Do you gag easily?”",
    HistoryTopic.HEARING: "“Can you hear me well?”",
    HistoryTopic.FEAR: "“Does anything here frighten you?”",
    HistoryTopic.EARLIER_SCANS: "“Was this scanned before?”",
}
PLACES = {
    WornPlace.EYES: "eyes",
    WornPlace.EARS: "ears",
    WornPlace.HAIR: "hair",
    WornPlace.NOSE: "nose",
    WornPlace.LIP: "lips",
    WornPlace.TONGUE: "tongue",
    WornPlace.UPPER_TEETH: "upper teeth",
    WornPlace.LOWER_TEETH: "lower teeth",
    WornPlace.NECK: "neck",
}
SHIELDS = {
    Shield.NONE: "No shield",
    Shield.COLLAR_LOW: "Collar, low",
    Shield.COLLAR_HIGH: "Collar, high",
    Shield.APRON: "Apron",
}
SENTENCES = {
    Sentence.WHAT_MOVES: "“The arm turns round your head once. It does not touch you.”",
    Sentence.HOW_LONG: "“It takes less than half a minute.”",
    Sentence.NOISE: "“You will hear it hum and beep.”",
    Sentence.KEEP_STILL_EYES: "“Keep still and look at one spot; don't follow it with your eyes.”",
    Sentence.HAND_SIGNAL: "“If you need me, raise your hand. I can see you and I stop.”",
    Sentence.TUBE_VOLTAGE: "“The tube runs at some ninety kilovolts.”",
    Sentence.NEVER_HURTS_ANYONE: "“X-rays like these never hurt anyone.”",
    Sentence.DO_NOT_WORRY: "“Don't you worry.”",
    Sentence.OTHER_CASES: "“I had one yesterday, you wouldn't believe it …”",
}
INSTRUCTIONS = {
    Instruction.HAIR_BACK: "“Put your hair back, please.”",
    Instruction.CLOTHES_CLEAR: "“Open your coat and collar.”",
    Instruction.SHOULDERS_LOW: "“Let your shoulders down.”",
    Instruction.BACK_STRAIGHT: "“Straighten your back.”",
    Instruction.HANDS_RESTING: "“Rest your hands on the handles.”",
    Instruction.BITE_GENTLY: "“Bite together gently.”",
    Instruction.TONGUE_UP: "“Tongue up to the palate.”",
    Instruction.LIPS_CLOSED: "“Close your lips.”",
    Instruction.SWALLOW_ONCE: "“Swallow once now.”",
    Instruction.STAY_STILL: "“Stay quite still now.”",
    Instruction.BREATHE_QUIETLY: "“Breathe quietly.”",
}
STANCES = {
    Stance.STANDING: "“Step in and stand here.”",
    Stance.SEATED: "“Sit down on the stool here.”",
    Stance.OWN_WHEELCHAIR: "“Stay in your wheelchair.”",
}
STANCE_NAMES = {
    Stance.STANDING: "standing",
    Stance.SEATED: "seated",
    Stance.OWN_WHEELCHAIR: "in the wheelchair",
}
METAL_LEVELS = {MetalLevel.OFF: "Off", MetalLevel.LOW: "Low", MetalLevel.HIGH: "High"}
RUN_KINDS = {RunKind.FULL: "Full run", RunKind.PREVIEW: "Preview in few views"}
SPACERS = {SpacerKind.ROLL: "Cotton roll", SpacerKind.BLOCK: "Block"}
ARCH_PLACES = {
    ArchPlace.INCISORS: "at the front teeth",
    ArchPlace.PREMOLARS: "at the premolars",
    ArchPlace.MOLARS: "at the molars",
}
SCOUT_KINDS = {ScoutKind.FRONTAL: "frontal", ScoutKind.LATERAL: "lateral"}
CUT_SIDES = {
    CutSide.LEFT: "patient's left",
    CutSide.RIGHT: "patient's right",
    CutSide.FRONT: "front",
    CutSide.BACK: "back",
    CutSide.TOP: "top",
    CutSide.BOTTOM: "bottom",
}
IMAGE_POINTS = {
    ImagePoint.PERSON: "Whose image is it?",
    ImagePoint.SIDE: "Right side, right teeth?",
    ImagePoint.COVERAGE: "Is everything in it?",
    ImagePoint.MOTION: "Are the edges sharp?",
    ImagePoint.METAL: "Metal or other shadows?",
}
GRADES = {Grade.A: "Acceptable (A)", Grade.N: "Not acceptable (N)"}
CAUSES = {
    RetakeCause.COVERAGE: "something is cut off",
    RetakeCause.MOTION: "the patient moved",
    RetakeCause.HEAD_POSITION: "head not as asked",
    RetakeCause.METAL: "metal or an appliance",
    RetakeCause.PROTOCOL: "wrong protocol",
    RetakeCause.PLACE_OR_PERSON: "wrong side, region or person",
    RetakeCause.TECHNICAL: "technical fault",
    RetakeCause.OTHER: "something else",
}
QUALITY = {
    QualityCheck.DAILY_CHECK: "Do the daily check of the unit",
    QualityCheck.TEST_OBJECT: "Scan the test object",
    QualityCheck.REJECT_LOG: "Keep the list of rejected images",
    QualityCheck.DISPLAY_CHECK: "Check the display",
}
WITHHOLDING = {
    WithholdReason.NOT_AUTHORISED: "It is not authorised",
    WithholdReason.REQUEST_UNCLEAR: "The request is unclear",
    WithholdReason.WRONG_PERSON: "It is the wrong person",
    WithholdReason.PREGNANCY: "Because of the answer on pregnancy",
    WithholdReason.CANNOT_KEEP_STILL: "The person cannot keep still",
    WithholdReason.OTHER: "For another reason",
}
INTERLOCKS = {
    Interlock.ARM_TURNED: "the arm is turned; turn it back",
    Interlock.DOOR_OPEN: "the door is open; close it",
    Interlock.UNIT_MOVING: "the unit is still moving; wait until it stands",
    Interlock.NOT_IN_WORK_POSITION: "the unit is not in its work position; send it there",
    Interlock.NOT_READY: "it is not ready; make it ready first",
    Interlock.NOT_YET_STEADY: "the ready light does not stand steady yet; wait for it",
    Interlock.OPERATOR_INSIDE: "you are in the room; go out to the switch",
}
TOUCHES = {
    Touch.HEAD: "the head",
    Touch.SHOULDERS: "the shoulders",
    Touch.CHAIR: "the chair",
    Touch.HAIR: "the hair",
    Touch.CLOTHES: "the clothes",
}


def listed(words: list[str] | tuple[str, ...]) -> str:
    """Words in a row: ``a``, ``a and b``, ``a, b and c``; empty for none."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def day(text: str) -> str:
    """A date of a card as it is said: ``1997-04-03`` is ``3 April 1997``; else as it is."""
    parts = text.split("-")
    if len(parts) != 3 or not all(p.isdigit() for p in parts) or not 1 <= int(parts[1]) <= 12:
        return text
    return f"{int(parts[2])} {MONTHS[int(parts[1]) - 1]} {parts[0]}"


MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

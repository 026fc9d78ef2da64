"""The 25 slips in words: title, cause, what the image shows, how it is mended.

Image effects from memory, except motion (stripes, double edges, rings, unsharpness: Spin-Neto &
Wenzel, review, 2016; tremor worst in cross-sections: Spin-Neto et al., DMFR 2013). Those of
panoramic pictures follow courses on panoramic technique (training reference, 2.8).
"""

from __future__ import annotations

from trainer.models.slips import Slip, SlipCode, SlipText

SLIP_TEXTS: dict[SlipCode, SlipText] = {
    SlipCode.TOO_HIGH_OR_LOW: SlipText(
        "Target too high or too low",
        "The height was not read from the side before the run.",
        "What lies over the upper or lower edge is missing: root tips, canal, joint roof.",
        "Set the chin height by the line on the side, then take a scout.",
    ),
    SlipCode.OFF_TO_A_SIDE: SlipText(
        "Target too far left or right",
        "The field was centred on the face, not on the target.",
        "The outer plate or a joint is cut off at the side; the edge is less sharp.",
        "Move the field sideways by the line seen from the front, then take a frontal scout.",
    ),
    SlipCode.TOO_FAR_FORWARD_OR_BACK: SlipText(
        "Target too far forward or back",
        "The front line was not checked with the arm turned.",
        "The front plate or the last molars are cut off.",
        "Turn the arm, set the front line from the side, turn the arm back.",
    ),
    SlipCode.CHIN_UP: SlipText(
        "Chin up",
        "The task's plane was not compared with the floor from the side.",
        "The front of the lower jaw lies low, the tooth row runs oblique through the slices.",
        "Have the chin lowered until the plane is level, then correct the height.",
    ),
    SlipCode.CHIN_DOWN: SlipText(
        "Chin down",
        "The task's plane was not compared with the floor from the side.",
        "The lower border is lost, and metal of both arches shares more slices.",
        "Have the chin lifted until the plane is level, then correct the height.",
    ),
    SlipCode.HEAD_TURNED: SlipText(
        "Head turned",
        "The midline was not checked from the front.",
        "Left and right lie in different slices; flat views look crooked.",
        "Stand in front; nose, lips and chin belong on one line, both ears equally far.",
    ),
    SlipCode.HEAD_LEANING: SlipText(
        "Head leaning",
        "The pupils were not compared from the front.",
        "One joint or canal stands higher than the other.",
        "Stand in front and bring both pupils to one height.",
    ),
    SlipCode.WRONG_SIDE_OR_TOOTH: SlipText(
        "Wrong side, tooth or jaw",
        "The request was not read again before the field was set.",
        "A good image of a place nobody asked about.",
        "Read region, side and tooth aloud while setting the field.",
    ),
    SlipCode.FIELD_TOO_SMALL: SlipText(
        "Field too small",
        "The field was chosen by habit, not by the size of the target.",
        "The target is cut off although it stands in the middle.",
        "Choose the smallest field that holds the target with its margin.",
    ),
    SlipCode.FIELD_TOO_LARGE: SlipText(
        "Field too large",
        "A large field was taken to be on the safe side.",
        "More dose and more to report on, often with coarser voxels.",
        "Take the ordered field and make sure of the place with scouts.",
    ),
    SlipCode.WRONG_PROTOCOL: SlipText(
        "Wrong resolution or protocol",
        "A setting of the last examination was left, or the order was not followed.",
        "Noise hides fine structures, or dose and length of the run are needless.",
        "Enter every item of the order, one by one.",
    ),
    SlipCode.MOVED: SlipText(
        "Patient moved",
        "Too little explanation or support, a long run, or bad luck.",
        "Stripes, double bone edges, rings, general unsharpness.",
        "Explain, support the head, keep the run short, watch.",
    ),
    SlipCode.TREMOR_OR_SWALLOW: SlipText(
        "Tremor or swallowing",
        "Nobody asked for a swallow just before, or a tremor was not asked about.",
        "Fine structures blur, most of all in cross-sections.",
        "Swallow once, then start; support a shaking head all round.",
    ),
    SlipCode.METAL_LEFT: SlipText(
        "Metal left on",
        "The search stopped at what can be seen.",
        "A bright thing with streaks and dark bands through the slices at its height.",
        "Look under hair and in the mouth; take off what comes off.",
    ),
    SlipCode.DENTURE_OR_GUIDE: SlipText(
        "Denture left in, or guide left out",
        "Habit instead of the order.",
        "Plastic or metal covers the surface, or the plan cannot be made without the guide.",
        "Read in the order what stays in and what comes out.",
    ),
    SlipCode.BITE_NOT_AS_ORDERED: SlipText(
        "Bite not as ordered",
        "The spacer was forgotten, or used where the teeth should meet.",
        "Crowns of both arches touch and their streaks cross; or the joint stands open.",
        "Spacer or rolls when ordered; teeth together for joints unless told otherwise.",
    ),
    SlipCode.SPACER_UNSTEADY: SlipText(
        "Spacer not steady",
        "It lay on front teeth or on one side only, or a block on toothless ridges.",
        "The marks of motion in one jaw only.",
        "Seat it on the molars or ridges of both sides.",
    ),
    SlipCode.TONGUE_OR_LIPS: SlipText(
        "Tongue, cheeks or lips",
        "Nobody said where they belong.",
        "Air or soft tissue hides the outline of the gum; the airway looks different.",
        "Ask for tongue up and lips closed before the run.",
    ),
    SlipCode.SUPPORT_PRESSES: SlipText(
        "Support presses on the face",
        "A band was closed too hard, or a part of another examination stayed on.",
        "The profile is dented and the head pushed aside.",
        "Loosen it, take strange parts off, close bands only snugly.",
    ),
    SlipCode.TOUCHED: SlipText(
        "Moving part touched the person",
        "No trial run, shoulders high, hair or clothes in the way.",
        "A sudden jerk with streaks, or the unit stops.",
        "Shoulders low, hair and clothes out of the way, trial run without radiation.",
    ),
    SlipCode.RELEASED_EARLY: SlipText(
        "Switch let go early",
        "A fright, or the end was not waited for.",
        "Too few views: streaks, or no volume.",
        "Hold until the unit says that the run is over.",
    ),
    SlipCode.SHIELD_IN_BEAM: SlipText(
        "Collar or apron in the beam",
        "The shield lay too high for this field.",
        "A broad streak and a dark band in the lower slices.",
        "By the local rule: none, or low enough.",
    ),
    SlipCode.WRONG_NAME: SlipText(
        "Wrong person or name",
        "Identity was not stated by the person, or the last file was still open.",
        "The image is filed to somebody else.",
        "Let the person state who they are; open the right file before anything else.",
    ),
    SlipCode.BANDS_AFTER_ALIGNING: SlipText(
        "Bands closed after aligning",
        "Closing a band turns the head a little, and nobody looked again.",
        "A new turn or tip that was not there before.",
        "Look again from front and side after every band.",
    ),
    SlipCode.NOT_CHECKED_OR_NEEDLESS: SlipText(
        "Image not checked, or repeated without cause",
        "The person was let go unseen, or a readable image was repeated for beauty.",
        "A dose that need not have been.",
        "Check person, side, coverage, motion and metal; repeat only what cannot be answered.",
    ),
}

# What is otherwise in a panoramic picture.
PANORAMIC_TEXTS: dict[SlipCode, SlipText] = {
    SlipCode.TOO_HIGH_OR_LOW: SlipText(
        "Head too high or too low",
        "The height was not read from the side before the run.",
        "Chin or joints are cut off at the edge of the picture.",
        "Set the chin height by the line on the side.",
    ),
    SlipCode.OFF_TO_A_SIDE: SlipText(
        "Beside the midline",
        "The midline was not checked from the front.",
        "One side is shown larger than the other.",
        "Stand in front; the gap between the middle front teeth belongs on the line.",
    ),
    SlipCode.TOO_FAR_FORWARD_OR_BACK: SlipText(
        "Front teeth not in the groove",
        "Nobody looked where the front teeth bite.",
        "Too far forward they look narrow and unsharp, too far back wide and unsharp.",
        "Have both front teeth bite into the groove, then look from the side.",
    ),
    SlipCode.CHIN_UP: SlipText(
        "Chin up",
        "The plane was not compared with the floor from the side.",
        "The tooth row is flat or curves down at its ends; the palate lies over the upper roots.",
        "Have the chin lowered until the plane is level.",
    ),
    SlipCode.CHIN_DOWN: SlipText(
        "Chin down",
        "The plane was not compared with the floor from the side.",
        "The tooth row curves up steeply; the lower front roots are short and unsharp.",
        "Have the chin lifted until the plane is level.",
    ),
    SlipCode.HEAD_TURNED: SlipText(
        "Head turned",
        "The midline was not checked from the front.",
        "Teeth and ramus are wider on one side, narrower on the other; contacts overlap.",
        "Stand in front; nose, lips and chin belong on one line, both ears equally far.",
    ),
    SlipCode.HEAD_LEANING: SlipText(
        "Head leaning",
        "The pupils were not compared from the front.",
        "One joint and one jaw angle stand higher than the other.",
        "Stand in front and bring both pupils to one height.",
    ),
    SlipCode.MOVED: SlipText(
        "Patient moved",
        "Too little explanation or support, a long run, or bad luck.",
        "A step or wave in the lower border, and an unsharp band over it.",
        "Explain, support the head, watch.",
    ),
    SlipCode.METAL_LEFT: SlipText(
        "Metal left on",
        "The search stopped at what can be seen.",
        "The thing itself and its ghost, higher up and on the other side.",
        "Look under hair and in the mouth; take off what comes off.",
    ),
    SlipCode.TONGUE_OR_LIPS: SlipText(
        "Tongue or lips",
        "Nobody said where they belong.",
        "A dark band over the upper roots, or a dark shadow over the crowns in front.",
        "Ask for the whole tongue at the palate and closed lips before the run.",
    ),
    SlipCode.SHIELD_IN_BEAM: SlipText(
        "Collar or apron in the beam",
        "The shield lay too high.",
        "A pale cone at the bottom middle.",
        "By the local rule: none, or low enough.",
    ),
}


def text_of(slip: Slip) -> SlipText:
    """The slip in words, for the kind of image that it happened in."""
    other = PANORAMIC_TEXTS.get(slip.code) if slip.panoramic else None
    return other or SLIP_TEXTS[slip.code]

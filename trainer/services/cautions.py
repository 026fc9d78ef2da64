"""The cautions that every screen, report and export carries."""

SHORT_CAUTION = (
    "Training only, on a synthetic head. Not a medical device, not evidence of clinical "
    "competence. Local rules and licensed practitioners decide."
)
CAUTIONS = (
    "This program is for training. It is not a medical device and controls no X-ray unit.",
    "Heads, people, units and practices in it are invented. Never enter data of real patients.",
    "A result here is no evidence of clinical competence and no permission to work with "
    "radiation. A supervisor decides what a trainee may do.",
    "Local rules, the unit's own instructions and licensed practitioners decide over every "
    "exposure. Where they differ from this program, they are right.",
    "All figures are computed from a model of an average head. Real patients differ.",
)

"""What the learner does beside the operator's job: asking for a hint, predicting.

Neither changes what the appointment comes to.
"""

from __future__ import annotations

from trainer.engine.appointment.hints import hint_words
from trainer.engine.appointment.state import AppointmentState, Handlers, Step
from trainer.errors import Fault, NotAllowedNow, NotValid
from trainer.models.appointment_commands import AskHint, Predict
from trainer.models.appointment_events import HintGiven, Predicted, RunStarted, Withheld
from trainer.models.learning import HelpLevel, Prediction


def prediction_of(state: AppointmentState) -> Prediction | None:
    """The prediction on the images as they are; one from before the last run is void."""
    found: Prediction | None = None
    for entry in state.log:
        if isinstance(entry.event, RunStarted):
            found = None
        elif isinstance(entry.event, Predicted):
            found = entry.event.prediction
    return found


def ask_hint(state: AppointmentState, command: AskHint) -> Step:
    """One hint in words, at the help level that gives them."""
    if state.help is not HelpLevel.ON_REQUEST:
        raise NotAllowedNow("This attempt has no hints on request.")
    return Step(state, (HintGiven(hint_words(state)),))


def predict(state: AppointmentState, command: Predict) -> Step:
    """The prediction stands; it can be made once for the images there are."""
    if not (state.runs or state.finished or state.times(Withheld)):
        raise NotAllowedNow("There is nothing to predict yet: no run has been made.")
    if prediction_of(state) is not None:
        raise NotAllowedNow("The prediction has been made; it stands.")
    asked = {r.structure for r in state.context.case.required}
    strange = sorted(command.prediction.cut - asked)
    if strange:
        text = f"{', '.join(strange)}: not among the required structures of this case"
        raise NotValid([Fault("command", 0, "prediction.cut", text)])
    return Step(state, (Predicted(command.prediction),))


HANDLERS: Handlers = {AskHint: ask_hint, Predict: predict}

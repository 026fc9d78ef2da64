"""The appointment: the operator's whole job from request to record, as a pure step.

`state.open_appointment(context, seed)` gives the first `AppointmentState`; `step.step(state,
command)` gives the next one with events and effects. Commands, events, the visit's script and the
closed lists of words are in `models.appointment_commands`, `appointment_events`,
`appointment_visit` and `appointment_words`; `plain_data` turns commands into JSON data and back.

Handlers by phase: `request` (and the room), `people`, `talk`, `entry`, `placing`, `exposure`,
`scouts`, `review`, `ending`; `learner` for hints (`hints`) and predictions. What it came to:
`slips` (the 25 errors of a run), `outcome`, `verdict`, `result`, `critical`, `checklist` (the 29
steps), with the `tolerance` of level and help; points are given by `engine.judgement`.
`visit_check` looks over a visit's script before it is played.
"""

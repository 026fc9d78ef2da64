"""What is shown after an attempt: prediction, debrief, replay; and the demonstration before one."""

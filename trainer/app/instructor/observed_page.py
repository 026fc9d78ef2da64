"""Direct observation: ratings of domains, and the global rating that only the observer gives."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit

from trainer.app.instructor.fields import Choice, day_entry, day_of, plain
from trainer.app.instructor.form_page import FormPage
from trainer.app.learners.supervised_page import OBSERVED_COLUMNS, observation_rows
from trainer.engine.wording import sentence_start
from trainer.errors import Fault
from trainer.models.records import Observation
from trainer.services.records.forms import (
    DOMAINS,
    SETTINGS,
    SUPERVISION_WORDS,
    observation_faults,
)

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.models.records import Learner
    from trainer.services.learning.group import Group
    from trainer.services.records.store import Records

RATING_WORDS = {
    1: "1 – well below what is expected",
    2: "2 – below, borderline",
    3: "3 – as expected",
    4: "4 – above",
    5: "5 – well above what is expected",
}
SIMULATION = SETTINGS[1]
NOT_SEEN, NO_ATTEMPT = "not seen", "none of them"
NEEDS_ATTEMPT = "belongs to a simulation; choose that setting or leave it out"


class ObservedPage(FormPage[Observation]):
    """Form and list of observations. ``door`` keeps what is written."""

    about = (
        "One procedure that you watched, written within minutes and talked over. The overall "
        "rating is yours alone: the program neither proposes nor computes it. A single observation "
        "says little; about 10 to 15 by several people are needed (common for short workplace "
        "observations)."
    )
    columns, wide = ("Learner", *OBSERVED_COLUMNS), 7
    told_elsewhere = ("Observer", "Done well")

    def __init__(self, door: LearnerDoor, instructor: Learner) -> None:
        self.attempt = Choice({}, NO_ATTEMPT)
        super().__init__(door, instructor)
        add = self.form.add
        self.on = day_entry(door.time().date())
        self.observer = QLineEdit()
        self.setting = Choice(plain(SETTINGS))
        add("on", "&Day", self.on)
        add("observer", "&Observer", self.observer)
        add("setting", "&Setting", self.setting)
        add("attempt_id", "Simulated attempt (optional)", self.attempt)
        self.ratings = {domain: Choice(RATING_WORDS, NOT_SEEN) for domain in DOMAINS}
        for domain, choice in self.ratings.items():
            add(domain, sentence_start(domain), choice)
        self.overall = Choice(RATING_WORDS)
        self.supervision = Choice({k: f"{k} – {v}" for k, v in SUPERVISION_WORDS.items()})
        self.done_well, self.aim = QLineEdit(), QLineEdit()
        add("overall", "Overall ra&ting, yours alone", self.overall)
        add("supervision", "Overall level of s&upervision needed", self.supervision)
        add("done_well", "One thing done &well", self.done_well)
        add("aim", "One &aim", self.aim)

    def entry(self) -> Observation:
        """What the form says; domains that were not seen are left out."""
        given = {domain: choice.value for domain, choice in self.ratings.items()}
        return Observation(
            id=uuid.uuid4().hex,
            learner_id=self.learner.value or "",
            on=day_of(self.on),
            observer=self.observer.text().strip(),
            setting=self.setting.value or "",
            ratings={domain: value for domain, value in given.items() if value is not None},
            overall=self.overall.value or 0,
            supervision=self.supervision.value or 0,
            done_well=self.done_well.text().strip(),
            aim=self.aim.text().strip(),
            attempt_id=self.attempt.value or "",
        )

    def faults(self) -> Sequence[Fault]:
        """Everything missing or wrong; a fault of all ratings stands at the first domain."""
        entry = self.entry()
        found = [
            Fault(f.path, 0, DOMAINS[0] if f.key == "ratings" else f.key, f.text)
            for f in observation_faults(entry)
        ]
        if entry.attempt_id and entry.setting != SIMULATION:
            found.append(Fault("observation", 0, "attempt_id", NEEDS_ATTEMPT))
        return found

    def store(self) -> None:
        """Have it kept."""
        work = partial(_kept, self.entry(), self.instructor)
        self._door.jobs.ask(self, work, self.on_kept, self.on_refused)

    def rows(self, group: Group, learner_id: str | None) -> list[tuple[str, ...]]:
        """Rows of the observations, the latest first; offers the learner's attempts beside."""
        own = [a for a in group.attempts if a.learner_id == learner_id]
        self.attempt.set_options(
            {a.id: f"{a.finished_at:%Y-%m-%d %H:%M}  {a.case_id}" for a in own[::-1]}
        )
        chosen = [o for o in group.observations if learner_id in (None, o.learner_id)]
        chosen.sort(key=lambda o: o.on, reverse=True)
        names = [(group.name(o.learner_id),) for o in chosen]
        return [n + row for n, row in zip(names, observation_rows(chosen), strict=True)]


def _kept(observation: Observation, by: Learner, records: Records) -> bool:
    return records.add_observation(observation, by)

"""The invented examination that a DICOM file belongs to."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from trainer.models.subject import Sex
from trainer.services.exports.moments import utc

# Ours: every UID is made from a name below it (UUID version 5, RFC 9562 5.5).
NAMESPACE = uuid.UUID("6a0f5c1e-2f0b-4b57-9a52-6f4f1f6f6d11")
PRACTICE = "Tallow Lane Training Practice (invented)"


@dataclass(frozen=True, slots=True)
class SimulatedStudy:
    """What a file says of the examination; nothing in it is of a real person.

    ``key`` tells one examination from another, such as an attempt's id: all UIDs follow from it, so
    that the same examination is written with the same ones. ``alias`` is the invented person's name
    in the case. ``taken_at``: when it was simulated; without a zone it is UTC.
    """

    key: str
    case_id: str
    alias: str
    sex: Sex
    age_years: int
    taken_at: datetime
    program: str = ""

    @property
    def taken_utc(self) -> datetime:
        """``taken_at`` in UTC."""
        return utc(self.taken_at)

    @property
    def patient_id(self) -> str:
        """ "TRAIN-" and the case; at most 64 letters (DICOM PS3.5 6.2, LO)."""
        return f"TRAIN-{_plain(self.case_id) or 'CASE'}"[:64]

    @property
    def patient_name(self) -> str:
        """ "TRAINING" as the family name; at most 64 letters (DICOM PS3.5 6.2, PN)."""
        return f"TRAINING^{_plain(self.alias) or 'INVENTED'}"[:64]

    def uid(self, *parts: str) -> str:
        """The UID of a part of this examination, below the root of UUIDs (DICOM PS3.5 B.2)."""
        name = "/".join((self.key, self.taken_utc.isoformat(), *parts))
        return f"2.25.{uuid.uuid5(NAMESPACE, name).int}"


def _plain(text: str) -> str:
    """Without the signs that part names and values in DICOM, and without control signs."""
    return "".join(" " if c in "^=\\" or not c.isprintable() else c for c in text).strip()

"""Everything kept of a learner, taken out as files that anybody can read and `verify` can prove.

about.txt        what it is, and what it does not prove
learner.json     the profile; of the PIN only a digest that its seal needs
entries.jsonl    one entry a line, as in the chain; its ``body`` is JSON in a text
logs/            an attempt's log for every attempt
under-way/       logs of attempts that are not finished
"""

from __future__ import annotations

import io
import shutil
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import select

from trainer.engine.appointment.plain_data import canonical
from trainer.errors import NotReadable, TrainerError
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.records import chain
from trainer.services.records.entries import Kind
from trainer.services.records.learners import row_of
from trainer.services.records.store import Records
from trainer.services.records.tables import ENTRIES
from trainer.services.records.under_way import logs_under_way

ABOUT, LEARNER, LINES, LOGS, UNDER_WAY = (
    "about.txt",
    "learner.json",
    "entries.jsonl",
    "logs/",
    "under-way/",
)
FORMAT = 1
ABOUT_TEXT = f"""Records of one learner, taken out of the CBCT positioning trainer.

{SHORT_CAUTION}

learner.json is the profile, entries.jsonl one entry a line in the order they were made, logs the
log of every simulated attempt, under-way those not finished. Entries of the kind
"{Kind.SUPERVISED}" and "{Kind.OBSERVATION}" are a supervisor's word on work that was watched.
Entries of the kind "{Kind.ATTEMPT}" are practice in a simulation. Never add them up or derive one
from the other.

"trainer verify" followed by this folder's or archive's name proves that nothing in it was changed.
"""


def export_learner(records: Records, learner_id: str, out: Path) -> Path:
    """Writes all that is kept of a learner into a new folder, or an archive if it ends in .zip.

    Raises
    ------
    NotFound
        If there is no such learner.
    TrainerError
        If ``out`` is there already.
    NotReadable
        If it cannot be written: nothing half is left then.
    """
    if out.exists():
        raise TrainerError(f"{out}: is there already; an export is never written over")
    files = export_files(records, learner_id)
    half = out.with_name(f"{out.name}.half")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        if out.suffix.lower() == ".zip":
            half.write_bytes(_archive(files))
        else:
            shutil.rmtree(half, ignore_errors=True)
            for name, data in files.items():
                path = half / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)
        half.replace(out)
    except OSError as error:
        shutil.rmtree(half, ignore_errors=True)
        half.unlink(missing_ok=True)
        raise NotReadable(
            f"{out}: cannot be written: {error.strerror or error}. Nothing half was left, and the "
            "records are as they were. Make room, or choose another folder."
        ) from error
    return out


def export_files(records: Records, learner_id: str) -> dict[str, bytes]:
    """All that is kept of a learner as files by their names, as they were at one moment."""
    wanted = select(ENTRIES).where(ENTRIES.c.learner_id == learner_id).order_by(ENTRIES.c.number)
    with records.database.reading() as connection:
        learner = row_of(connection, learner_id)
        rows = connection.execute(wanted).mappings().all()
    profile: dict[str, Any] = {
        key: learner[key] for key in (*chain.PROFILE_KEYS, "entries", "head")
    }
    profile |= {"sign_in_sha256": chain.sign_in_sha256(learner), "seal": learner["seal"]}
    files = {
        ABOUT: ABOUT_TEXT.encode("ascii"),
        LEARNER: _json({"learner_export": FORMAT, **profile}),
    }
    lines = []
    for row in rows:
        log_file = f"{LOGS}{row['number']:05d}.log" if row["kind"] == Kind.ATTEMPT else ""
        if log_file:
            files[log_file] = bytes(row["log"])
        entry = {key: row[key] for key in (*chain.ENTRY_KEYS, "digest")}
        lines.append(_json({**entry, "log_file": log_file}))
    files[LINES] = b"".join(lines)
    for path in logs_under_way(records, learner_id):
        files[f"{UNDER_WAY}{path.name}"] = path.read_bytes()
    return files


def _json(data: Mapping[str, Any]) -> bytes:
    return (canonical(dict(data)) + "\n").encode("ascii")


def _archive(files: Mapping[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return packed.getvalue()

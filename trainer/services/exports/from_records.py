"""What goes out of the records of learners: the printed page, tables, statements."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from trainer.errors import TrainerError
from trainer.models.records import Learner, StoredAttempt
from trainer.services.appointment import PROGRAM_VERSION
from trainer.services.assets import MESHES, known_structure_ids
from trainer.services.exports.csv_out import (
    Separator,
    attempts_csv,
    items_csv,
    observations_csv,
    supervised_csv,
)
from trainer.services.exports.files import empty_folder, with_ending, write_whole
from trainer.services.exports.pdf_record import Paper, RecordPage, record_pdf
from trainer.services.exports.xapi import HOME_PAGE, statements
from trainer.services.library import every_case, units_for
from trainer.services.records.store import Records
from trainer.services.scenario_io import load_case


def save_page(
    records: Records,
    learner: Learner,
    path: Path,
    printed_on: date,
    name: str = "",
    paper: Paper = Paper.A4,
) -> Path:
    """Writes the learner's printed record as PDF.

    ``name`` is printed and kept nowhere else; without one the pseudonym stands there.

    Raises
    ------
    TrainerError
        If the file's name does not end in .pdf, or the learner's name cannot be printed.
    NotReadable
        If the records cannot be read, the file not written, or a library is missing.
    """
    with_ending(path, ".pdf")
    attempts = records.attempts(learner.id, with_logs=False)
    page = RecordPage(
        name=name or learner.pseudonym,
        printed_on=printed_on,
        program=PROGRAM_VERSION,
        attempts=tuple(attempts),
        titles=titles_of(attempts),
        observations=tuple(records.observations(learner.id)),
    )
    return write_whole(path, record_pdf(page, paper))


def save_tables(
    records: Records,
    learners: Sequence[Learner],
    folder: Path,
    separator: Separator = Separator.COMMA,
) -> list[Path]:
    """Writes attempts, items, supervised cases and observations into a new folder, a table each.

    Raises
    ------
    TrainerError
        If the folder is not empty.
    NotReadable
        If the records cannot be read or a file cannot be written.
    """
    attempts = _attempts(records, learners, with_logs=False)
    tables = {
        "attempts.csv": attempts_csv(attempts, separator),
        "items.csv": items_csv(attempts, separator),
        "supervised-cases.csv": supervised_csv(
            (c for each in learners for c in records.supervised(each.id)), separator
        ),
        "observations.csv": observations_csv(
            (o for each in learners for o in records.observations(each.id)), separator
        ),
    }
    empty_folder(folder)
    return [write_whole(folder / name, data) for name, data in tables.items()]


def save_statements(
    records: Records, learners: Sequence[Learner], path: Path, home_page: str = HOME_PAGE
) -> Path:
    """Writes the learners' attempts as statements of the Experience API, JSON Lines.

    Raises
    ------
    TrainerError
        If the file's name does not end in .jsonl, or the home page is no address.
    NotReadable
        If the records cannot be read or the file cannot be written.
    """
    with_ending(path, ".jsonl")
    attempts = _attempts(records, learners, with_logs=True)  # the logs for their SHA-256
    text = statements(attempts, titles_of(attempts), home_page)
    return write_whole(path, text.encode())


def titles_of(attempts: Iterable[StoredAttempt]) -> dict[str, str]:
    """The title of every attempt's case, as far as it is here and can be read."""
    files = every_case()
    titles = {}
    for case_id in dict.fromkeys(a.case_id for a in attempts):
        if case_id not in files:
            continue
        try:
            case = load_case(files[case_id], units_for(files[case_id]), known_structure_ids(MESHES))
        except TrainerError:
            continue  # a title is a kindness: the id stands in, and 'trainer check' tells why
        titles[case_id] = case.text(case.title)
    return titles


def _attempts(
    records: Records, learners: Sequence[Learner], with_logs: bool
) -> list[StoredAttempt]:
    return [a for each in learners for a in records.attempts(each.id, with_logs=with_logs)]

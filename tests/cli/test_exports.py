"""The command export, with every way out of the computer closed."""

from __future__ import annotations

import csv
import json
import socket
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest
from helpers.exported import attempt, observation, small_scouts, small_volume, supervised

from trainer.cli.common import DONE, FAULTY, UNREADABLE
from trainer.cli.main import main
from trainer.services.exports.from_records import titles_of
from trainer.services.records.forms import observation_faults, supervised_faults

pypdf = pytest.importorskip("pypdf")
pydicom = pytest.importorskip("pydicom")


class WayOut(AssertionError):
    """Something tried to reach a network."""


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Makes every socket, name look-up and connection an error."""

    def refuse(*_: object, **__: object) -> None:
        raise WayOut("a network was asked for")

    for name in ("socket", "create_connection", "create_server", "getaddrinfo", "gethostbyname"):
        monkeypatch.setattr(socket, name, refuse)


@pytest.fixture
def place(tmp_path) -> Path:
    """Records of two people of one course and their instructor, in a folder."""
    from trainer.services.records.store import open_records

    folder = tmp_path / "records"
    records = open_records(folder)
    now = datetime(2026, 1, 1, tzinfo=UTC)
    instructor = records.learners.add("Yew", now=now, group="course", is_instructor=True)
    for pseudonym in ("Aspen", "Rowan"):
        learner = records.learners.add(pseudonym, now=now, group="course")
        for number in range(2):
            records.add_attempt(
                attempt(
                    number,
                    id=f"{pseudonym}-{number}",
                    learner_id=learner.id,
                    case_id="lower-third-molar",
                )
            )
        seen = observation(1, id=f"seen-{pseudonym}", learner_id=learner.id)
        assert observation_faults(seen) == ()
        records.add_observation(seen, instructor)
        case = supervised(id=f"case-{pseudonym}", learner_id=learner.id)
        assert supervised_faults(case) == ()
        records.add_supervised(case, instructor)
    return folder


def test_the_guard_sees_a_socket():
    """The guard that these tests run under catches a socket and a look-up of a name."""
    for way in (socket.socket, lambda: socket.getaddrinfo("trainer.example", 80)):
        with pytest.raises(WayOut):
            way()


def test_a_page_without_a_network(place, tmp_path, capsys):
    """`export page` writes one Letter page with the typed name, the case's title and own words."""
    out = tmp_path / "aspen.pdf"
    words = ["--out", str(out), "--name", "Žofie Hájek", "--paper", "letter"]
    assert main(["export", "page", "aspen", "--records", str(place), *words]) == DONE
    assert capsys.readouterr().out == f"Saved {out}\n"
    (page,) = pypdf.PdfReader(out).pages
    text = " ".join(page.extract_text().split())
    assert float(page.mediabox.width) == 612.0
    assert "Žofie Hájek" in text and "Aspen" not in text
    assert titles_of([attempt(1, case_id="lower-third-molar")])["lower-third-molar"] in text
    assert "overall 4 of 5" in text
    assert date.today().isoformat() in text


def test_tables_without_a_network(place, tmp_path):
    """`export tables` writes four tables: everybody's rows, or those of who is named."""
    out = tmp_path / "tables"
    assert main(["export", "tables", "--records", str(place), "--out", str(out)]) == DONE
    counts = {}
    for path in sorted(out.iterdir()):
        with path.open(encoding="utf-8-sig", newline="") as file:
            counts[path.name] = len(list(csv.DictReader(file)))
    expected = {"attempts.csv": 4, "items.csv": 4, "observations.csv": 2, "supervised-cases.csv": 2}
    assert counts == expected
    one = tmp_path / "one"
    words = ["--out", str(one), "--separator", "semicolon"]
    assert main(["export", "tables", "Rowan", "--records", str(place), *words]) == DONE
    with (one / "attempts.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file, delimiter=";"))
    assert [row["attempt_id"] for row in rows] == ["Rowan-0", "Rowan-1"]
    assert rows[0]["percent"] == "91,5"


def test_statements_without_a_network(place, tmp_path):
    """`export statements` writes a statement an attempt, for accounts of the school's system."""
    out = tmp_path / "all.jsonl"
    words = ["--out", str(out), "--home-page", "https://school.example/"]
    assert main(["export", "statements", "--records", str(place), *words]) == DONE
    found = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]
    assert len(found) == 4
    assert {s["actor"]["account"]["homePage"] for s in found} == {"https://school.example/"}
    assert "Aspen" not in out.read_text(encoding="utf-8").replace("Aspen-", "")


def test_scouts_without_a_network(tmp_path, capsys, monkeypatch):
    """`export scouts` writes both previews as DICOM; a second time the folder is not empty."""
    # what the previews show is tested in tests/services/test_scouts.py, and takes seconds
    monkeypatch.setattr("trainer.services.exports.from_case.person_head", lambda *_: None)
    monkeypatch.setattr(
        "trainer.services.exports.from_case.scout_pair", lambda *_, **__: small_scouts()
    )
    words = ["lower-third-molar", "--out", str(tmp_path / "scouts"), "--spacing", "4"]
    assert main(["export", "scouts", *words]) == DONE
    for name in ("frontal", "lateral"):
        d = pydicom.dcmread(tmp_path / "scouts" / f"{name}.dcm")
        assert d.PatientID == "TRAIN-lower-third-molar"
        assert (d.Rows, d.Columns) == small_scouts()[name].projection.values.shape
    capsys.readouterr()
    assert main(["export", "scouts", *words]) == FAULTY
    assert "is not empty. Nothing was written" in capsys.readouterr().err


@pytest.mark.scene
def test_a_picture_without_a_network(tmp_path):
    """`export picture` writes the drawn case in colour as a secondary capture."""
    out = tmp_path / "case.dcm"
    assert main(["export", "picture", "lower-third-molar", "--out", str(out)]) == DONE
    d = pydicom.dcmread(out)
    assert d.SOPClassUID.name == "Secondary Capture Image Storage"
    assert (d.PhotometricInterpretation, d.Columns) == ("RGB", 1280)
    assert d.ImageComments.startswith("The drawn case. SIMULATED")
    assert np.ptp(d.pixel_array.astype(int), axis=2).max() > 30  # not grey


def test_a_panoramic_picture_without_a_network(tmp_path, capsys):
    """`export panorama` writes it as a secondary capture; a case for a volume is refused."""
    out = tmp_path / "panorama.dcm"
    assert main(["export", "panorama", "panoramic-overview", "--out", str(out)]) == DONE
    d = pydicom.dcmread(out)
    assert d.SOPClassUID.name == "Secondary Capture Image Storage"
    assert d.PatientID == "TRAIN-panoramic-overview"
    assert d.BurnedInAnnotation == "YES"
    assert d.ImageComments.startswith("Panoramic picture. SIMULATED")
    assert d.PhotometricInterpretation == "MONOCHROME2" and np.ptp(d.pixel_array) > 200
    other = tmp_path / "volume.dcm"
    assert main(["export", "panorama", "lower-third-molar", "--out", str(other)]) == FAULTY
    assert "has no sharp layer" in capsys.readouterr().err
    assert not other.exists()


def test_volume_without_a_network(tmp_path, monkeypatch):
    """`export volume` records the case at the setup and writes its slices."""
    asked, volume = [], small_volume()

    def recorded(bench, ask, tell):
        asked.append((bench.case.id, ask.seed, ask.setup.yaw_deg))
        tell("taking the views", 0.0)
        tell("taking the views", 0.5)
        return volume

    monkeypatch.setattr("trainer.services.exports.from_case.record_volume", recorded)
    out = tmp_path / "slices"
    words = ["--out", str(out), "--seed", "7", "--set", "yaw_deg=0"]
    assert main(["export", "volume", "lower-third-molar", *words]) == DONE
    assert len(list(out.glob("slice-*.dcm"))) == volume.values.shape[0]
    assert asked == [("lower-third-molar", 7, 0.0)]
    first = pydicom.dcmread(out / "slice-0001.dcm")
    assert first.PatientName == "TRAINING^Mr Rowan (invented)"


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["export"], FAULTY, "say what to write"),
        (["export", "page", "Oak", "--out", "x.pdf"], UNREADABLE, "nobody called 'Oak'"),
        (["export", "page", "Aspen", "--out", "x.doc"], FAULTY, "must end in .pdf"),
        (["export", "page", "Aspen", "--out", "x.pdf", "--name", "柳"], FAULTY, "cannot print"),
        (["export", "statements", "--out", "x.csv"], FAULTY, "must end in .jsonl"),
        (["export", "statements", "--out", "x.jsonl", "--home-page", "us"], FAULTY, "home page"),
        (["export", "page", "Aspen", "--out", "nowhere/x.pdf"], UNREADABLE, "cannot be written"),
    ],
)
def test_what_cannot_be_exported_is_told(place, tmp_path, monkeypatch, capsys, words, code, told):
    """Each fault gives its exit code and one plain sentence, and leaves no file."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TRAINER_RECORDS", str(place))
    assert main(words) == code
    assert told in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["records"]

"""Sweeps over cases: the same result whoever does the work, progress, and calling off."""

from __future__ import annotations

import multiprocessing
import pickle
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import pytest

from trainer.services.assets import SCENARIOS
from trainer.services.proof import CalledOff, ProofOrder, prove_library, prove_named

NAMES = ("lower-third-molar", "one-jaw-joint")
ORDER = ProofOrder(draws=60)


@pytest.fixture(scope="module")
def here():
    """The cases proved one after the other."""
    return prove_library(NAMES, ORDER)


def test_the_cases_come_in_the_order_asked(here):
    """Every case has its proof, level and title, under the name that was asked for."""
    assert tuple(f.name for f in here) == NAMES
    assert all(f.proved and f.title and f.level for f in here)
    assert [f.proof.case_id for f in here] == list(NAMES)


def test_two_processes_find_the_same(here):
    """Two fresh processes give equal proofs."""
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, fresh) as pool:
        assert prove_library(NAMES, ORDER, pool) == here


class ByPost(Executor):
    """An executor of another kind: packs each job and its result, as a cluster's has to."""

    def __init__(self):
        self.jobs = 0

    def submit(self, fn, /, *args, **kwargs):
        """Do the job at once, from its packed form."""
        self.jobs += 1
        done = Future()
        work, values, more = pickle.loads(pickle.dumps((fn, args, kwargs)))
        done.set_result(pickle.loads(pickle.dumps(work(*values, **more))))
        return done


def test_any_executor_will_do(here):
    """One that only packs and unpacks gets one job a case and leads to equal proofs."""
    post = ByPost()
    assert prove_library(NAMES, ORDER, post) == here
    assert post.jobs == len(NAMES)


@pytest.mark.parametrize("pool", [None, "threads"])
def test_progress_is_told(pool):
    """The count rises from none to all."""
    told = []
    executor = ThreadPoolExecutor(1) if pool else None
    prove_library(NAMES, ORDER, executor, tell=lambda done, of: told.append((done, of)))
    assert told[0] == (0, 2) and told[-1] == (2, 2)
    assert told == sorted(told)
    if executor:
        executor.shutdown()


def test_a_sweep_can_be_called_off():
    """Called off after the first case, the work ends; no second one is begun."""
    told = []
    with pytest.raises(CalledOff, match="nothing was written"):
        prove_library(
            NAMES, ORDER, tell=lambda done, of: told.append(done), called_off=lambda: 1 in told
        )
    assert told == [0, 1]


class Idle(Executor):
    """Takes jobs and never does one."""

    def __init__(self):
        self.taken = []

    def submit(self, fn, /, *args, **kwargs):
        """Keep the job."""
        self.taken.append(Future())
        return self.taken[-1]


def test_jobs_that_wait_are_taken_back():
    """Called off, every job that nobody has begun is cancelled."""
    idle = Idle()
    with pytest.raises(CalledOff):
        prove_library(NAMES, ORDER, idle, called_off=lambda: True)
    assert [job.cancelled() for job in idle.taken] == [True, True]


def test_what_cannot_be_opened_stops_nothing(tmp_path: Path):
    """A missing name and a broken file are told beside the proof of a sound case."""
    broken = tmp_path / "broken.yaml"
    text = (SCENARIOS / "lower_third_molar.yaml").read_text(encoding="utf-8")
    broken.write_text(text.replace("level: 1", "level: 9"), encoding="utf-8")
    missing, faulty, sound = prove_library(["no-such-case", str(broken), NAMES[0]], ORDER)
    assert missing.missing and "no case or file 'no-such-case'" in missing.error
    assert not faulty.missing and "level" in faulty.error and faulty.proof is None
    assert sound.proved


def test_a_case_that_cannot_be_proved_says_why(tmp_path: Path):
    """Two runs with a structure in the middle have no proof but a sentence."""
    path = tmp_path / "three.yaml"
    text = (SCENARIOS / "both_joints.yaml").read_text(encoding="utf-8")
    text = text.replace("id: both-joints", "id: three")
    more = "required:\n  - structure: chin\n    margin_mm: 3\n"
    path.write_text(text.replace("required:\n", more), encoding="utf-8")
    found = prove_named(str(path), ORDER)
    assert found.proof is None and not found.missing
    assert "do not part into those on the left" in found.error

"""Proofs of cases as plain data and as text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from trainer.engine.proof.best import FieldFit
from trainer.engine.proof.play import Play
from trainer.engine.proof.proof import Proof
from trainer.engine.proof.scatter import SPREADS
from trainer.engine.proof.success import LOWEST, Success, is_near_a_bound
from trainer.engine.wording import amount, sentence_start, signed_amount
from trainer.models.controls import Control, ControlKind, control
from trainer.models.setup import Setup
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.proof import ProofOrder, ProvedCase

# What the probability is of, and what it is not.
MEANING = (
    "The probability is that of a placing which misses the best setup by chance as the scatter "
    "says. It compares cases by their geometry; it forecasts no person's work."
)
# So many of the structures lost most often are told.
MOST_LOST = 3


def proof_data(found: ProvedCase) -> dict[str, Any]:
    """Everything found out about a case, ready for JSON; lengths in mm, angles in degrees."""
    data: dict[str, Any] = {"case": found.name, "title": found.title, "level": found.level}
    proof = found.proof
    if proof is None:
        return {**data, "proved": False, "error": found.error}
    return {
        **data,
        "case": proof.case_id,
        "unit": proof.unit_id,
        "proved": proof.proved,
        "faults": list(proof.faults),
        "start_slack_mm": round(proof.start_slack_mm, 2),
        "runs": [
            {
                "best_setup": setup.as_dict(),
                "free_play": {
                    p.key: {
                        "low": round(p.low, 2),
                        "high": round(p.high, 2),
                        "low_end": p.low_end,
                        "high_end": p.high_end,
                    }
                    for p in (proof.plays[i] if proof.plays else ())
                },
            }
            for i, setup in enumerate(proof.setups)
        ],
        "slack_mm": round(proof.slack_mm, 2) if proof.setups else None,
        "fields": [
            {
                "id": fit.field.id,
                "region": str(fit.region),
                "holds": fit.best.holds,
                "slack_mm": round(fit.best.slack_mm, 2),
            }
            for fit in proof.fits
        ],
        "scatters": [_success_data(s) for s in proof.successes],
        "difficulty": proof.difficulty and str(proof.difficulty),
        "difficulty_near_a_bound": bool(proof.successes) and is_near_a_bound(proof.successes[0]),
    }


def library_data(found: Sequence[ProvedCase], order: ProofOrder) -> dict[str, Any]:
    """The proofs of several cases, by case, with what they were made with."""
    return {
        "caution": SHORT_CAUTION,
        "meaning": MEANING,
        "draws": order.draws,
        "seed": order.seed,
        "difficulty_from": {str(d): round(p, 4) for d, p in LOWEST.items()},
        "cases": [proof_data(f) for f in _by_case(found)],
    }


def _success_data(found: Success) -> dict[str, Any]:
    low, high = found.interval
    scatter = found.scatter
    return {
        "id": scatter.id,
        "name": scatter.name,
        "spreads": {key: round(getattr(scatter, key), 3) for key in SPREADS},
        "source": scatter.source,
        "draws": found.draws,
        "held": found.held,
        "probability": round(found.probability, 4),
        "standard_error": round(found.standard_error, 4),
        "interval_95": [round(low, 4), round(high, 4)],
        "lost": {name: round(share, 4) for name, share in found.lost},
    }


def proof_text(found: ProvedCase) -> str:
    """The proof of one case for reading: verdict, best setup with play, fields, probability."""
    proof = found.proof
    if proof is None:
        return f"{found.title or found.name}: cannot be proved.\n{found.error}\n\n{SHORT_CAUTION}"
    lines = [f"{found.title} ({proof.case_id}, unit {proof.unit_id}, level {found.level})", ""]
    if proof.proved:
        lines.append("Proved: the case can be solved, its start fails, and its field fits.")
    else:
        lines += ["NOT proved:", *(f"  - {fault}" for fault in proof.faults)]
    for number, setup in enumerate(proof.setups):
        run = f" for run {number + 1}" if len(proof.setups) > 1 else ""
        plays = {p.key: p for p in proof.plays[number]} if proof.plays else {}
        lines += ["", f"Best setup found{run}, and how far each control may go alone:"]
        lines += [_control_line(setup, key, plays.get(key)) for key in _told_keys(setup)]
    if proof.setups:
        lines.append(f"  {_spare(proof.slack_mm)}")
        lines += ["", "Fields of the unit, each placed as well as it can be:"]
        lines += [_fit_line(fit, proof.setups[0].field) for fit in proof.fits]
    if proof.successes:
        lines += ["", _draws_line(proof.successes[0]), *map(_success_line, proof.successes)]
        lines += _lost_lines(proof.successes[0])
        lines += ["", f"Difficulty: {_difficulty(proof)}. {_bounds()}", MEANING, ""]
        lines += [f"Scatter {s.scatter.name}: {s.scatter.source}." for s in proof.successes]
    return "\n".join([*lines, "", SHORT_CAUTION])


def library_text(found: Sequence[ProvedCase], order: ProofOrder) -> str:
    """A table of the cases by their names, then what is wrong with some; no ranking of people."""
    cases = _by_case(found)
    wide = max((len(f.name) for f in cases), default=0)
    head = f"{'case':{wide}}  level  field   spare mm  " + "  ".join(
        f"{s.id:>24}" for s in order.scatters
    )
    lines = [head + "  difficulty"]
    for f in cases:
        proof = f.proof
        if proof is None or not proof.setups:
            lines.append(f"{f.name:{wide}}  not proved, see below")
            continue
        told = [_with_interval(s) for s in proof.successes]
        if told:  # a panoramic unit makes no scouts
            told += ["no scouts"] * (len(order.scatters) - len(told))
        shares = "  ".join(f"{text:>24}" for text in told)
        blank = "" if proof.successes else "not held, see below"
        lines.append(
            f"{f.name:{wide}}  {f.level:5}  {proof.setups[0].field:7} {proof.slack_mm:8.1f}  "
            f"{shares or blank}  {_difficulty(proof)}".rstrip()
        )
    lines += ["", f"{sum(f.proved for f in cases)} of {len(cases)} cases proved."]
    for f in cases:
        if not f.proved:
            reasons = f.proof.faults if f.proof else (f.error,)
            lines += ["", f"{f.name}: NOT proved.", *(f"  - {r}" for r in reasons)]
    lines += [
        "",
        f"Probability of holding everything, with its 95 % interval, from {order.draws} draws a "
        f"case (seed {order.seed}).",
        f"{_bounds()} An interval that reaches over a bound is marked ~.",
        MEANING,
    ]
    lines += [f"Scatter {s.id}: {s.source}." for s in order.scatters]
    return "\n".join([*lines, "", SHORT_CAUTION])


def _by_case(found: Sequence[ProvedCase]) -> list[ProvedCase]:
    return sorted(found, key=lambda f: f.proof.case_id if f.proof else f.name)


def _told_keys(setup: Setup) -> list[str]:
    """Numbers and choices, in the order of the controls."""
    return [key for key in setup.as_dict() if control(key).kind is not ControlKind.SWITCH]


def _control_line(setup: Setup, key: str, play: Play | None) -> str:
    c, value = control(key), setup.as_dict()[key]
    if c.kind is ControlKind.CHOICE:
        return f"  {c.label}: {str(value).replace('-', ' ')}"
    number = float(value)
    text = f"  {c.label}: {_set_to(c, number)}"
    if play is None:
        return text
    less, more = amount(number - play.low, c.unit), amount(play.high - number, c.unit)
    return (
        f"{text}; {less} {c.less_word} (to {play.low_end}), "
        f"{more} {c.more_word} (to {play.high_end})"
    )


def _set_to(c: Control, value: float) -> str:
    if c.key in ("unit_height_mm", "jaw_gap_mm"):  # only one way
        return amount(value, c.unit)
    return signed_amount(value, c.unit, c.more_word, c.less_word)


def _spare(slack_mm: float) -> str:
    if slack_mm < 0.0:
        return f"Even so {amount(slack_mm, 'mm')} of the margins asked are lacking."
    return f"The margins asked are kept with {amount(slack_mm, 'mm')} to spare."


def _fit_line(fit: FieldFit, ordered: str) -> str:
    slack = fit.best.slack_mm
    found = f"holds, {amount(slack, 'mm')} to spare" if fit.best.holds else (
        f"does not hold, {amount(slack, 'mm')} lacking")  # fmt: skip
    mark = "  <- ordered" if fit.field.id == ordered else ""
    return f"  {fit.field.id:8} {str(fit.region).replace('-', ' '):10} {found}{mark}"


def _draws_line(found: Success) -> str:
    return f"Scattered placings, {found.draws} drawn for each scatter, that hold everything:"


def _success_line(found: Success) -> str:
    low, high = found.interval
    return (
        f"  {sentence_start(found.scatter.name)}: {100 * found.probability:.1f} % (95 % interval "
        f"{100 * low:.1f} to {100 * high:.1f}, standard error {100 * found.standard_error:.1f})"
    )


def _lost_lines(found: Success) -> list[str]:
    worst = sorted((lost for lost in found.lost if lost[1] > 0.0), key=lambda s: -s[1])[:MOST_LOST]
    if not worst:
        return []
    names = ", ".join(f"{name} {100 * share:.0f} %" for name, share in worst)
    return [f"  Lost most often {found.scatter.name}: {names}."]


def _with_interval(found: Success) -> str:
    low, high = found.interval
    return f"{100 * found.probability:.1f} % ({100 * low:.1f}–{100 * high:.1f})"


def _difficulty(proof: Proof) -> str:
    if proof.difficulty is None:
        return ""
    return f"{proof.difficulty}{' ~' if is_near_a_bound(proof.successes[0]) else ''}"


def _bounds() -> str:
    words = [f"{d} from {100 * p:.0f} %" for d, p in LOWEST.items() if p > 0.0]
    return f"By the first scatter: {', '.join(words)} (own working values)."

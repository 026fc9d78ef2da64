"""The demo: it fails, is advised, and ends with everything inside."""

from __future__ import annotations

import json

from trainer.services.demo import play_demo


def test_the_demo_ends_with_all_inside(tmp_path):
    """The first assessment fails, the last one has everything inside, and a report tells both."""
    drawn = []

    def note(bench, setup, path):
        drawn.append(path.name)
        path.write_bytes(b"picture")

    written = play_demo(tmp_path, note)
    results = [json.loads(p.read_text()) for p in written if p.suffix == ".json"]
    assert results[0]["all_required_inside"] is False
    assert results[-1]["all_required_inside"] is True
    assert len(drawn) == len(results)
    report = (tmp_path / "report.txt").read_text(encoding="utf-8")
    assert "invented" in report
    assert "Training only" in report


def test_the_demo_leaves_its_report_without_pictures(tmp_path):
    """Where nothing can be drawn the demo still leaves report and data."""
    names = {p.name for p in play_demo(tmp_path, None)}
    assert "report.txt" in names
    assert not any(n.endswith(".png") for n in names)

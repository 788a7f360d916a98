"""`retrofit simulate`: results, recorded bounce, refusals, and an early end."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path

from tests.cli.conftest import ROOT, Command, written


def test_every_simulated_group_has_a_row(retrofit: Command, gutted: Path) -> None:
    """Groups with a known bounce stand in the table, the others are named with the reason."""
    shown = retrofit("simulate", gutted, "--seconds", "10")
    assert shown.code == 0
    assert [line.split()[0] for line in shown.out.splitlines()[-5:]] == ["group", "upper", "lower", "pedal", "tabs"]
    assert "left out: pistons: its bounce is unknown" in shown.err
    assert "has no published source" in shown.err


def test_json_is_the_same_for_the_same_seed(retrofit: Command, gutted: Path) -> None:
    """Same job, length and seed: same bytes; another seed: another result."""
    first, second, other = (
        retrofit("simulate", gutted, "--seconds", "10", "--seed", seed, "--json").out for seed in (1, 1, 2)
    )
    assert first == second != other
    content = json.loads(first)
    assert (content["complete"], content["seed"]) == (True, 1)
    assert {"99.9", "greatest"} <= set(content["groups"][0]["touched_us"])


def test_an_assumption_is_said(retrofit: Command, gutted: Path) -> None:
    """A bounce that nobody measured is used only when asked for, and marked."""
    shown = retrofit("simulate", gutted, "--seconds", "5", "--assume-bounce-ms", "3")
    assert "pistons" in shown.out
    assert "up to 3 ms were assumed, which nobody has measured" in shown.err


def test_recorded_bounce_decides(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A recorded break long after the hold-off makes strokes double, which the modelled bounce does not."""
    recording = written(tmp_path / "bounce.csv", "pedal,closing,20,29.5\n")
    content = json.loads(retrofit("simulate", gutted, "--seconds", "20", "--bounce", recording, "--json").out)
    double = {group["id"]: group["double"]["per_million"] for group in content["groups"]}
    assert double["pedal"] > 500_000
    assert double["tabs"] == 0


def test_a_bad_recording_is_named(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Problems carry file and line; a file that is not there, or no text, ends the command in words."""
    recording = written(tmp_path / "bounce.csv", "swell,closing,1,2\n")
    shown = retrofit("simulate", gutted, "--bounce", recording)
    assert (shown.code, shown.out) == (1, "")
    assert f"{recording}:1 the group 'swell' found, allowed are" in shown.err
    assert retrofit("simulate", gutted, "--bounce", tmp_path / "none.csv").code == 3
    recording.write_bytes(b"\xff\xfe")
    assert "no UTF-8" in retrofit("simulate", gutted, "--bounce", recording).err


def test_nothing_to_simulate_is_an_error(retrofit: Command, gutted: Path) -> None:
    """A job none of whose bounces is known ends with what to do, and writes no data."""
    text = gutted.read_text(encoding="utf-8")
    kept = [line for line in text.splitlines() if not line.startswith(("bounce", "contact ="))]
    gutted.write_text("\n".join(kept), encoding="utf-8")
    shown = retrofit("simulate", gutted)
    assert (shown.code, shown.out) == (1, "")
    assert "nothing to simulate" in shown.err


def test_an_early_end_shows_what_was_played(gutted: Path) -> None:
    """Ctrl-C ends a long run with the result so far and the exit code of an interruption; progress shows until then."""
    command = [sys.executable, "-m", "retrofit.cli.main", "simulate", str(gutted), "--seconds", "86400", "--json"]
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=theirs, text=True) as child:
        os.close(theirs)
        while os.read(ours, 1) != b"%":
            pass
        time.sleep(0.5)
        child.send_signal(signal.SIGINT)
        out, _ = child.communicate(timeout=60)
    os.close(ours)
    assert child.returncode == 130
    content = json.loads(out)
    assert content["complete"] is False
    assert 0 < content["seconds"] < 86_400

"""A wish to stop: what is found so far is kept, the rest takes the first answer, and the sums still agree."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

from autoorch.problem.data import ProblemData
from autoorch.rules import RULES, report
from autoorch.solver.solve import Limits, Progress, solve
from autoorch.solver.statements import gather
from autoorch.solver.stop import Stop
from tests.support.tiny import line, players, problem, strand

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples" / "lighthouse-waltz" / "sketch.musicxml"


def cue() -> ProblemData:
    tune = strand("s1", "melody", line("s1.1", "E4 F4 G4 E4 " * 8))
    bass = strand("s2", "bass", line("s2.1", "C3 C3 G2 C3 " * 8))
    lineup = players("flute", "oboe", "clarinet_bb", "bassoon", "horn", "violin", "viola", "cello", "double_bass")
    return problem(lineup, tune, bass, bars=8, phrases=4, dynamic="f")


def test_a_stopped_solve_is_whole_and_its_costs_are_those_of_the_rules() -> None:
    data = cue()
    stop = Stop()
    best = solve(data, gather(data), Limits(options=1))

    def after_one(progress: Progress) -> None:
        stop.ask()

    solution = solve(data, gather(data), Limits(options=1), after_one, stop=stop)
    reports = [report(rule, data, solution.chosen) for rule in RULES]
    assert solution.stopped and not best.stopped
    assert solution.windows > 1
    assert sum(r.cost for r in reports) == solution.solver_cost >= best.solver_cost
    assert [name for r in reports for name in r.broken] == []


def test_asked_from_another_thread_the_search_under_way_ends() -> None:
    data = cue()
    stop = Stop()
    threading.Timer(0.05, stop.ask).start()
    time.sleep(0.1)
    assert solve(data, gather(data), stop=stop).stopped


DRAFT = """
import sys
from autoorch import cli, pipeline
inner = pipeline.solve
def solve(*arguments):
    print("solving", flush=True)
    return inner(*arguments)
pipeline.solve = solve
cli.run(sys.argv[1:])
"""


def interrupted(folder: Path, *waits: float) -> tuple[int, str]:
    """A draft of a process of its own that gets Ctrl-C after each wait: (exit code, what it said)."""
    command = [sys.executable, "-c", DRAFT, "draft", str(EXAMPLE), "--for", "studio", "--seconds", "600", "-o", "out"]
    with subprocess.Popen(
        command,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    ) as process:
        assert process.stdout is not None
        os.set_blocking(process.stdout.fileno(), False)
        said = b""
        while b"solving" not in said and process.poll() is None:
            said += process.stdout.read() or b""
            time.sleep(0.02)
        for wait in waits:
            time.sleep(wait)
            process.send_signal(signal.SIGINT)
        process.wait(timeout=120)
        said += process.stdout.read() or b""
    return process.returncode, said.decode()


def test_ctrl_c_once_writes_the_best_so_far_and_says_so(tmp_path: Path) -> None:
    code, said = interrupted(tmp_path, 0.1)
    assert code == 0, said
    assert "stopped" in said
    assert '"status": "stopped"' in (tmp_path / "out" / "draft.json").read_text()
    assert (tmp_path / "out" / "score.musicxml").is_file()


def test_ctrl_c_twice_leaves_nothing(tmp_path: Path) -> None:
    code, said = interrupted(tmp_path, 0.1, 0.3)
    assert code == 130, said
    assert list(tmp_path.iterdir()) == []


TWICE = """
import os, subprocess, sys, time
from autoorch.interrupt import interruptible
press = "import os, signal, time; [(time.sleep(0.05), os.kill(int({0}), signal.SIGINT)) for _ in range(2)]"
with interruptible(lambda: os._exit(7)) as stop:
    finger = subprocess.Popen([sys.executable, "-c", press.format(os.getpid())])
    sum(range(3 * 10**7))
    finger.wait()
    time.sleep(20)
"""


def test_two_signals_within_one_call_that_gives_no_thread_a_turn_are_two() -> None:
    ended = subprocess.run(
        [sys.executable, "-c", TWICE], env={**os.environ, "PYTHONPATH": str(ROOT)}, timeout=60, check=False
    )
    assert ended.returncode == 7

"""Many cues at once: the same bytes wherever they run, workers that die, folders that stand finished."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from autoorch import compare
from autoorch.brief import Brief, Direction, Like, parse_direction
from autoorch.errors import AutoorchError
from autoorch.exhibits import Extras
from autoorch.jobs import Job, Made, beside_each_other, finished, put, run, run_all
from autoorch.lineup import parse_lineup
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from tests.support.hand import make_sketch

TUNES = ("C5:1 E5:1 G5:1 E5:1 F5:2 E5:2 D5:1 E5:1 F5:1 D5:1 C5:4", "G5:2 E5:2 C5:4 D5:2 G4:2 C5:4")
BASS = "C3:4 F3:2 C3:2 G2:4 C3:4"


def jobs(folder: Path, count: int) -> list[Job]:
    """Cues of four bars for small line-ups."""
    tables = load_tables()
    found = []
    for number in range(count):
        lineup = parse_lineup(("string quartet", "wind quintet")[number % 2], tables)
        sketch = make_sketch([TUNES[number // 2 % 2], BASS])
        found.append(Job(f"cue {number}", folder / f"cue{number}", sketch, lineup, Brief(), limits=Limits(seconds=2)))
    return found


class Deadly:
    """Ends the process that unpacks it."""

    def __reduce__(self) -> tuple[Any, ...]:
        return os._exit, (3,)


def files(outcomes: dict[int, Any]) -> dict[int, Any]:
    return {index: dict(made.files) for index, made in sorted(outcomes.items()) if isinstance(made, Made)}


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Any]:
    """What each of four jobs gives in this process."""
    return files({index: run(job) for index, job in enumerate(jobs(Path("out"), 4))})


def test_a_worker_killed_on_the_way_is_replaced_and_the_bytes_are_the_same(alone: dict[int, Any]) -> None:
    found: dict[int, Any] = {}
    for index, outcome in run_all(jobs(Path("out"), 4), workers=2):
        if not found:
            multiprocessing.active_children()[0].kill()
        found[index] = outcome
    assert files(found) == alone


def test_a_job_that_kills_its_workers_is_given_up_and_the_others_are_done() -> None:
    (asked,) = jobs(Path("out"), 1)
    deadly: Any = Deadly()
    found = dict(run_all([asked, replace(asked, name="bad cue", reading=deadly)], workers=2))
    assert isinstance(found[0], Made)
    assert isinstance(found[1], AutoorchError)
    assert "bad cue" in str(found[1])


def test_a_job_that_can_not_be_done_is_told_and_the_others_are_done() -> None:
    asked = jobs(Path("out"), 2)
    wrong = Brief(directions=(parse_direction("melody must Trombone 7"),))
    found = dict(run_all([asked[0], replace(asked[1], brief=wrong)], workers=2))
    assert isinstance(found[0], Made)
    assert "Trombone 7" in str(found[1])


def test_what_stands_finished_is_known_and_what_differs_is_not(tmp_path: Path) -> None:
    (job,) = jobs(tmp_path, 1)
    assert not finished(job)
    put(job, run(job))
    assert finished(job)
    assert not finished(replace(job, brief=Brief(intent="lean")))
    assert not finished(replace(job, limits=Limits(seconds=3)))
    assert not finished(replace(job, sketch=make_sketch([TUNES[1], BASS])))


def test_a_cue_scored_like_another_passage_is_known_when_it_is_finished(tmp_path: Path) -> None:
    (job,) = jobs(tmp_path, 1)
    like = replace(job, brief=Brief(directions=(Direction(like=Like("palette:low strings")),)))
    put(like, run(like))
    assert finished(like)
    assert not finished(job)
    assert not finished(replace(job, brief=Brief(directions=(Direction(like=Like("palette:tutti unison")),))))


def test_no_scheduler_is_told_on_one_line() -> None:
    with pytest.raises(AutoorchError, match="no Dask scheduler answers") as caught:
        list(run_all(jobs(Path("out"), 1), scheduler="tcp://127.0.0.1:1"))
    assert "\n" not in str(caught.value)


@pytest.fixture
def cluster() -> Iterator[Any]:
    from distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as found:
        yield found


@pytest.mark.slow
def test_a_cluster_with_a_worker_killed_gives_the_same_bytes(alone: dict[int, Any], cluster: Any) -> None:
    found: dict[int, Any] = {}
    for index, outcome in run_all(jobs(Path("out"), 4), scheduler=cluster.scheduler_address):
        if not found:
            worker = next(iter(cluster.workers.values()))
            os.kill(worker.pid, 9)
        found[index] = outcome
    assert files(found) == alone


def test_several_drafts_have_the_page_that_compares_them(tmp_path: Path) -> None:
    (job, *_) = jobs(tmp_path, 1)
    several = replace(job, count=2, lineup=parse_lineup("chamber", load_tables()), extras=Extras(page=True))
    made = run(several)
    put(several, made)
    assert {name.split("/")[0] for name in made.files} == {"1", "2", compare.PAGE}
    assert made.told.splitlines()[-1] == f"beside each other: open {several.folder / compare.PAGE} in a browser"
    assert made.files[compare.PAGE] == compare.page(compare.beside([several.folder], load_tables()))
    assert compare.PAGE not in run(replace(several, extras=Extras())).files


def test_line_ups_of_one_sketch_have_one_page_beside_them(tmp_path: Path) -> None:
    first, second, other = jobs(tmp_path, 3)
    both = [replace(job, extras=Extras(page=True), sketch=first.sketch) for job in (first, second)]
    for job in both:
        put(job, run(job))
    path = tmp_path / compare.PAGE
    assert list(beside_each_other([*both, other])) == [f"beside each other: open {path} in a browser"]
    assert path.read_bytes() == compare.page(compare.beside([job.folder for job in both], load_tables()))
    path.write_text("mine")
    assert [line.split(";")[0] for line in beside_each_other(both)] == [f"{path} is there already"]
    assert path.read_text() == "mine"
    assert list(beside_each_other(both, replace=True)) and path.read_bytes() != b"mine"
    assert sorted(one.name for one in tmp_path.iterdir()) == [compare.PAGE, "cue0", "cue1"]
    assert list(beside_each_other([replace(job, extras=Extras()) for job in both], replace=True)) == []

"""Many cues at once: each job is one cue for one line-up; jobs run one after another, in processes, or on a Dask cluster.

A job carries all it needs and gives back bytes, so it does not matter where it runs. A worker that dies is replaced and its
jobs are done again; what stands finished in its folder need not be done again at all.
"""

from __future__ import annotations

import io
import os
import shlex
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import IO

from autoorch import delivery, pipeline, several
from autoorch.brief import Brief
from autoorch.compare import PAGE, SOUND, Beside, beside, page
from autoorch.errors import AutoorchError
from autoorch.exhibits import Extras, exhibits
from autoorch.layers.like import with_likes
from autoorch.layers.model import MaterialLine
from autoorch.lineup import Lineup
from autoorch.pipeline import Result
from autoorch.problem.draft import Draft
from autoorch.revise import Source
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.solver.asked import Asked
from autoorch.solver.solve import Limits, Progress
from autoorch.solver.stop import Stop
from autoorch.solver.vary import label
from autoorch.tables import load_tables
from autoorch.told import against, summary
from autoorch.write.files import Writer, write_file, write_folder
from autoorch.write.pages import Pages
from autoorch.write.record import NAME, Record, otherwise, read_record

TRIES = 2
"""A job whose own worker dies so often is given up."""


@dataclass(frozen=True)
class Job:
    """One cue for one line-up.

    Attributes:
        name: for the progress display.
        folder: where its files go; drafts of a `count` above 1 go into 1, 2, … inside it, with a page that compares them.
        constraints: folder of own tables, as the workers see it.
        again: the record of a draft that is only to be made once more; nothing else of the job then counts but its folder.
        sources: bars that are to stand in the scores as other drafts have them.
        origins: name, draft and lines by name of each that this one is the next after; what changes is told.
        pages: which scores are written and how; extras: what is shown besides.
    """

    name: str
    folder: Path
    sketch: Sketch
    lineup: Lineup
    brief: Brief
    reading: Reading | None = None
    limits: Limits = field(default_factory=Limits)
    asked: Asked = field(default_factory=Asked)
    count: int = 1
    constraints: Path | None = None
    sources: tuple[Source, ...] = ()
    extras: Extras = field(default_factory=Extras)
    pages: Pages = field(default_factory=Pages)
    again: Record | None = None
    origins: tuple[tuple[str, Draft, Mapping[str, MaterialLine]], ...] = ()


@dataclass(frozen=True)
class Made:
    """What a job gives back: its files by name inside the folder, and what is to be told."""

    files: Mapping[str, bytes]
    told: str


Outcome = Made | AutoorchError


def run(job: Job, tell: Callable[[Progress], None] = lambda progress: None, stop: Stop | None = None) -> Made:
    """Do a job.

    Raises:
        AutoorchError: with one line for the user.
    """
    first = _first(job, tell, stop)
    if job.count == 1:
        first = _with_sources(first, job)
        return Made(_bytes(first, job), _told(first, job.folder, job))
    results = [_with_sources(result, job) for result in several.several(job.count, first, tell)]
    files: dict[str, bytes] = {}
    told = []
    drafts = []
    for number, result in enumerate(results, 1):
        others = [(other.problem, other.draft) for other in results if other is not result]
        own, folder = _bytes(result, job), job.folder / str(number)
        files |= {f"{number}/{name}": content for name, content in own.items()}
        drafts.append(Beside(folder, result, own[delivery.SCORES[0]], own.get(SOUND), result.problem.tables))
        told.append(_told(result, folder, job, label((result.problem, result.draft), others)))
    if len(results) < job.count:
        told.append(f"{job.folder}: no more than {len(results)} drafts differ enough at little more cost")
    if job.extras.page and len(drafts) > 1:
        files[PAGE] = page(drafts)
        told.append(f"beside each other: open {job.folder / PAGE} in a browser")
    return Made(files, "\n".join(told))


def _with_sources(result: Result, job: Job) -> Result:
    if not job.sources:
        return result
    return delivery.with_bars(result, {bar: one.files for one in job.sources for bar in range(one.first, one.last + 1)})


def _bytes(result: Result, job: Job) -> dict[str, bytes]:
    found = {}
    for name, writer in delivery.outputs(result, job.pages).items():
        file = io.BytesIO()
        writer(file)
        found[name] = file.getvalue()
    return found | exhibits(result, found, job.extras)


def _told(result: Result, folder: Path, job: Job, apart: str = "") -> str:
    text = summary(result, folder, apart, [against(*origin, result) for origin in job.origins])
    return f"{text}, {folder / 'report.html'} in a browser" if job.extras.page else text


def _first(job: Job, tell: Callable[[Progress], None], stop: Stop | None) -> Result:
    tables = load_tables(job.constraints)
    if job.again is not None:
        return pipeline.again(job.again, tables, tell)
    return pipeline.draft(
        job.sketch, job.lineup, brief=job.brief, reading=job.reading, limits=job.limits, asked=job.asked,
        tables=tables, tell=tell, stop=stop,
    )  # fmt: skip


def put(job: Job, made: Made, replace: bool = False) -> None:
    """Write what a job gave back, whole or not at all.

    Raises:
        OutputError: where the folder is there already or can't be written.
    """
    write_folder(job.folder, {name: _writer(content) for name, content in made.files.items()}, replace)


def _writer(content: bytes) -> Writer:
    def write(file: IO[bytes]) -> None:
        file.write(content)

    return write


def beside_each_other(jobs: Sequence[Job], replace: bool = False) -> Iterator[str]:
    """Write a page for each sketch of which several of these jobs, all done, made one draft each; a line on each page.

    It stands in the folder that holds theirs; one that is there already is only written over with `replace`.

    Raises:
        OutputError: where it can't be written.
    """
    by_sketch: dict[int, list[Job]] = {}
    for job in jobs:
        if job.count == 1 and job.extras.page:
            by_sketch.setdefault(id(job.sketch), []).append(job)
    for own in by_sketch.values():
        if len(own) == 1:
            continue
        folders = [job.folder for job in own]
        path = Path(os.path.commonpath(folders)) / PAGE
        if path.exists() and not replace:
            names = " ".join(shlex.quote(str(folder)) for folder in folders)
            yield f"{path} is there already; to see these beside each other: autoorch compare {names}"
            continue
        write_file(path, page(beside(folders, load_tables(own[0].constraints))))
        yield f"beside each other: open {path} in a browser"


def finished(job: Job) -> bool:
    """The job's folder stands there with drafts made from the same things by the same versions."""
    first = job.folder if job.count == 1 else job.folder / "1"
    if not (first / NAME).is_file():
        return False
    tables = load_tables(job.constraints)
    made = read_record(first, tables)
    brief = with_likes(job.brief, job.sketch, made.reading, job.lineup, tables)
    same = (made.sketch, made.lineup.players, made.brief, made.limits) == (
        job.sketch, job.lineup.players, brief, job.limits,
    )  # fmt: skip
    return same and job.reading in (None, made.reading) and made.asked == job.asked and not otherwise(made, tables)


def run_all(jobs: Sequence[Job], workers: int = 0, scheduler: str = "") -> Iterator[tuple[int, Outcome]]:
    """(index of the job, what came of it) for each job, as they finish.

    Args:
        workers: processes; 0 for one a core.
        scheduler: address of a Dask scheduler, which then does it all.
    Raises:
        AutoorchError: where the cluster can't be reached.
    """
    if scheduler:
        yield from _on_cluster(jobs, scheduler)
        return
    workers = min(workers or os.cpu_count() or 1, len(jobs))
    waiting = list(range(len(jobs)))
    while waiting:
        before = len(waiting)
        for index, outcome in _in_processes(jobs, waiting, workers):
            waiting.remove(index)
            yield index, outcome
        if len(waiting) == before:
            break
    for index in waiting:
        yield index, _alone(jobs, index)


def _in_processes(jobs: Sequence[Job], wanted: Sequence[int], workers: int) -> Iterator[tuple[int, Outcome]]:
    """The same until a worker dies; the jobs that were not done by then are passed over."""
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        futures = {pool.submit(run, jobs[index]): index for index in wanted}
        for future in as_completed(futures):
            try:
                yield futures[future], future.result()
            except AutoorchError as error:
                yield futures[future], error
            except BrokenProcessPool:
                continue


def _alone(jobs: Sequence[Job], index: int) -> Outcome:
    """A job by itself, so that it is known whose worker dies."""
    for _ in range(TRIES):
        for _, outcome in _in_processes(jobs, [index], 1):
            return outcome
    return AutoorchError(f"{jobs[index].name}: its worker died {TRIES} times; run it by itself, with less --seconds")


def _on_cluster(jobs: Sequence[Job], scheduler: str) -> Iterator[tuple[int, Outcome]]:
    try:
        from distributed import Client
        from distributed import as_completed as completed
        from distributed.scheduler import KilledWorker
    except ImportError:
        raise AutoorchError("--scheduler needs the extra cluster: pip install 'autoorch[cluster]'") from None
    try:
        client = Client(scheduler, timeout=4)
    except (OSError, ValueError) as error:
        raise AutoorchError(f"no Dask scheduler answers at {scheduler}: {error}") from None
    with client:
        futures = {client.submit(run, job, pure=False): index for index, job in enumerate(jobs)}
        for future in completed(list(futures)):
            index = futures[future]
            try:
                yield index, future.result()
            except AutoorchError as error:
                yield index, error
            except KilledWorker:
                yield index, AutoorchError(f"{jobs[index].name}: its workers died again and again")

"""Who computes the sites: processes of this machine, or the workers of a Dask scheduler. Both give the same numbers."""

from __future__ import annotations

import os
import signal
import threading
from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from importlib import import_module
from multiprocessing import connection, get_context, parent_process
from typing import Any

from wetfoot.answers.site_task import SiteResult, SiteTask, died
from wetfoot.errors import WetfootError, refuse

MOST_DEATHS = 3  # of the process that computes a site, alone, before the site is given up
WAITING_PER_WORKER = 2
CONNECT_S = 20

Found = tuple[SiteTask, SiteResult]
Work = Callable[[SiteTask], SiteResult]
SiteRowKey = tuple[str, int]


def on_processes(tasks: Iterable[SiteTask], work: Work, processes: int | None = None) -> Iterator[Found]:
    """Yield each site with what it came to, as they are finished, from processes of this machine.

    When a process dies (killed, out of memory) all of its pool is lost; a new pool then takes those that were at
    work one at a time, so that the one that kills its process is found and given up, and no other with it.

    Args:
        tasks: what to compute.
        work: what computes a site; it must be importable by name.
        processes: that work at once; as many as there are processors if it is not given.

    Raises:
        WetfootError: if the processes die before they finish a single site.
    """
    count, deaths = processes or os.cpu_count() or 1, Counter[SiteRowKey]()
    waiting, suspects, finished = iter(tasks), deque[SiteTask](), False
    while True:
        pool = ProcessPoolExecutor(count, get_context("spawn"), _in_worker)
        at_work: dict[Future[SiteResult], SiteTask] = {}
        try:
            while _fill(pool, at_work, suspects, waiting, count, work):
                done = wait(at_work, return_when=FIRST_COMPLETED).done
                for future in done:
                    result, finished = future.result(), True
                    yield at_work.pop(future), result
            return
        except BrokenProcessPool:
            lost = [task for future, task in at_work.items() if not _finished(future)]
            yield from ((task, future.result()) for future, task in at_work.items() if _finished(future))
            if len(lost) == 1:
                deaths[_key(lost[0])] += 1
            for task in lost:
                if deaths[_key(task)] < MOST_DEATHS:
                    suspects.append(task)
                elif finished:
                    yield task, died(task)
                else:
                    raise _no_process_lives() from None
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _no_process_lives() -> WetfootError:
    what = "the processes that compute the sites die before they finish one"
    allowed = "a machine with memory to spare; a script of your own needs its 'if __name__ == \"__main__\":'"
    return refuse("--processes", what, allowed, "try --processes 1, and close other programs")


def _key(task: SiteTask) -> SiteRowKey:
    return task.row.table, task.row.number


def _finished(future: Future[SiteResult]) -> bool:
    return future.done() and not future.cancelled() and future.exception() is None


def _fill(
    pool: ProcessPoolExecutor,
    at_work: dict[Future[SiteResult], SiteTask],
    suspects: deque[SiteTask],
    waiting: Iterator[SiteTask],
    count: int,
    work: Work,
) -> bool:
    """Give the pool as much as it should have, a suspect alone; return whether anything is at work."""
    if suspects:
        if not at_work:
            _give(pool, at_work, suspects.popleft(), work)
        return True
    while len(at_work) < count * WAITING_PER_WORKER and (task := next(waiting, None)):
        _give(pool, at_work, task, work)
    return bool(at_work)


def _give(pool: ProcessPoolExecutor, at_work: dict[Future[SiteResult], SiteTask], task: SiteTask, work: Work) -> None:
    refused: Future[SiteResult] = Future()
    try:
        at_work[pool.submit(work, task)] = task
    except BrokenProcessPool as error:  # it must not be lost because the pool broke while it was handed over
        refused.set_exception(error)
        at_work[refused] = task
        raise


def _in_worker() -> None:
    """Leave an interrupt to the parent, and end with it even when it is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)


def on_scheduler(tasks: Iterable[SiteTask], work: Work, address: str) -> Iterator[Found]:
    """Yield each site with what it came to, as they are finished, from the workers of a Dask scheduler.

    The scheduler itself gives the work of a worker that died to another, and gives a site up after several deaths.
    The workers need the same version of the program and the season's folder under the same path.

    Args:
        tasks: what to compute.
        work: what computes a site; it must be importable by name.
        address: of the scheduler, as tcp://host:8786.

    Raises:
        WetfootError: if the extra package is missing, nothing answers at the address, or it has no workers.
    """
    try:
        dask: Any = import_module("distributed")
    except ImportError as error:
        fix = "pip install 'wetfoot[sites]', or leave the address out to compute on this machine"
        raise refuse("--scheduler", "the package 'distributed' is not installed", "the extra 'sites'", fix) from error
    try:
        client = dask.Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise refuse(
            "--scheduler", f"no scheduler answers at {address!r} ({error})", "tcp://host:port", "start it, or correct"
        ) from error
    with client:
        threads = sum(client.nthreads().values())
        if not threads:
            raise refuse("--scheduler", f"the scheduler at {address} has no workers", "at least one", "start some")
        waiting, at_work = iter(tasks), dask.as_completed(loop=client.loop)
        tasks_of: dict[str, SiteTask] = {}

        def give() -> None:
            if (task := next(waiting, None)) is not None:
                future = client.submit(work, task, pure=False)
                tasks_of[future.key] = task
                at_work.add(future)

        for _ in range(threads * WAITING_PER_WORKER):
            give()
        for future in at_work:
            yield _from_scheduler(future, tasks_of.pop(future.key), dask.KilledWorker)
            future.release()
            give()


def _from_scheduler(future: Any, task: SiteTask, killed: type[Exception]) -> Found:
    try:
        return task, future.result()
    except killed:
        return task, died(task)
    except Exception as error:  # `compute_site` catches its own: the worker could not even begin
        what = f"a worker cannot compute a site ({type(error).__name__}: {error})"
        raise refuse("--scheduler", what, "workers with the same version of the program", "install it there") from error

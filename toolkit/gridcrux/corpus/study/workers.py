"""Where tasks are measured: in this process, in others on this machine, or on a cluster.

All three are executors (`concurrent.futures`), and what comes out does not depend on which.
Processes on this machine are those of loky, which need no precaution in the script that starts
them and are kept for the next study; a cluster is one that a Dask scheduler knows.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections import deque
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import contextmanager
from importlib.metadata import version
from typing import Any, TypeVar

import pandas as pd

from gridcrux.corpus.study.tasks import Asked, Task, rows_of

SMALL, SMALL_AND_SLOW = 4096, 8
"""Puzzles that are measured in this process, as it would take longer to start others."""

IDLE_SECONDS = 60
"""How long processes wait for the next study before they end."""

LIVES = 3
"""How often processes may die before one task is done."""

Key = TypeVar("Key")


class WorkersLost(RuntimeError):
    """The processes that measure died, or a cluster cannot be used."""


class _Here(Executor):
    """Does its work at once, in the process that asks for it."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


class Workers:
    """An executor, how many tasks it works on at once, and how to start it again."""

    def __init__(self, count: int, client: Any = None) -> None:
        self.count = count
        self.client = client
        self.executor: Executor
        self.start()

    def start(self) -> None:
        """Get an executor that works."""
        if self.client is not None:
            self.executor = self.client.get_executor(pure=False)
        elif self.count == 1:
            self.executor = _Here()
        else:
            from loky import get_reusable_executor

            self.executor = get_reusable_executor(
                self.count,
                timeout=IDLE_SECONDS,
                initializer=_belong_to,
                initargs=(os.getpid(),),
            )

    def stop(self) -> None:
        """Drop what is still being worked on."""
        if self.client is None and self.count > 1:
            self.executor.shutdown(wait=False, kill_workers=True)  # type: ignore[call-arg]


def _belong_to(parent: int) -> None:
    """Leave Ctrl-C to the process that started this one, and end when that one is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(1)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def how_many(workers: int | None, puzzles: int | None, slow: bool) -> int:
    """Processes to be used where so many are asked for; one a core, if None and worth it."""
    if workers is not None:
        return workers
    if puzzles is not None and puzzles <= (SMALL_AND_SLOW if slow else SMALL):
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def workers_at(scheduler: str | None, count: int) -> Iterator[Workers]:
    """Workers on this machine, or those of a Dask scheduler.

    Parameters
    ----------
    scheduler : address of the scheduler; None for processes of this machine.
    count : how many of these.

    Raises
    ------
    WorkersLost : the scheduler does not answer, has no workers, or they have another version.
    """
    if scheduler is None:
        workers = Workers(count)
        try:
            yield workers
        except BaseException:
            workers.stop()
            raise
        return
    with _client(scheduler) as client:
        yield Workers(_checked(client, scheduler), client)


@contextmanager
def _client(scheduler: str) -> Iterator[Any]:
    try:
        from distributed import Client
    except ImportError as error:
        raise WorkersLost(
            "a scheduler needs the package 'distributed': pip install 'gridcrux[cluster]'"
        ) from error
    try:
        client = Client(scheduler, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise WorkersLost(
            f"no Dask scheduler answers at {scheduler!r} ({error}); "
            "expected an address such as tcp://host:8786"
        ) from error
    with client:
        yield client


def _checked(client: Any, scheduler: str) -> int:
    """Threads of all workers, which all have this version."""
    try:
        client.wait_for_workers(1, timeout=10)
    except (OSError, TimeoutError) as error:
        raise WorkersLost(f"the scheduler at {scheduler} has no workers") from error
    here = version("gridcrux")
    for address, there in client.run(_version_there).items():
        if there != here:
            raise WorkersLost(
                f"worker {address} has gridcrux {there}, this is {here}; install the same"
            )
    return max(1, sum(client.nthreads().values()))


def _version_there() -> str:
    """What a worker has; it looks for itself."""
    from importlib.metadata import version

    return version("gridcrux")


def measured(
    tasks: Iterator[tuple[Key, Task]], asked: Asked, workers: Workers
) -> Iterator[tuple[Key, pd.DataFrame]]:
    """Measure tasks side by side and give back their rows in order, a few at a time.

    Raises
    ------
    WorkersLost : the processes died again and again over one task.
    """
    waiting: deque[tuple[Key, Task, Future[pd.DataFrame]]] = deque()
    # In this process nothing is gained by having a task done before it is its turn.
    ahead = 2 * workers.count + 1 if workers.count > 1 or workers.client else 0

    def first() -> tuple[Key, pd.DataFrame]:
        lives = LIVES
        while True:
            key, task, future = waiting[0]
            try:
                frame = future.result()
            except BrokenExecutor as error:
                lives -= 1
                if not lives:
                    raise _lost(task, LIVES) from error
                workers.start()
                again = [(k, t, workers.executor.submit(rows_of, t, asked)) for k, t, _ in waiting]
                waiting.clear()
                waiting.extend(again)
            except Exception as error:
                # A cluster says in its own words that workers died or the scheduler is gone.
                foreign = type(error).__module__.startswith(("distributed", "concurrent"))
                if workers.client is None or not foreign:
                    raise
                raise _lost(task, None, error) from error
            else:
                waiting.popleft()
                return key, frame

    try:
        for key, task in tasks:
            waiting.append((key, task, _submit(workers, task, asked)))
            if len(waiting) > ahead:
                yield first()
        while waiting:
            yield first()
    finally:
        for _, _, future in waiting:
            future.cancel()


def _submit(workers: Workers, task: Task, asked: Asked) -> Future[pd.DataFrame]:
    try:
        return workers.executor.submit(rows_of, task, asked)
    except BrokenExecutor as error:
        # It is noticed when its turn comes, and begun again with all that waits.
        future: Future[pd.DataFrame] = Future()
        future.set_exception(error)
        return future


def _lost(task: Task, times: int | None, error: Exception | None = None) -> WorkersLost:
    lines = f"lines {task.lines[0]} to {task.lines[-1]} of " if task.lines else ""
    what = f"the processes that measured {lines}{task.source} died"
    how = f" {times} times" if times else f", or the scheduler did ({type(error).__name__})"
    return WorkersLost(f"{what}{how}; is there memory enough?  The same command goes on from here")

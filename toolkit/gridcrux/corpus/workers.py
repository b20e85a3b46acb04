"""Where work is done: in this process, in others on this machine, or on a cluster.

All three are executors (`concurrent.futures`), and what comes out does not depend on which.
Processes on this machine are those of loky, which need no precaution in the script that starts
them and are kept for the next study; a cluster is one that a Dask scheduler knows.
"""

from __future__ import annotations

import os
import signal
import socket
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import contextmanager
from importlib.metadata import version
from typing import Any, TypeVar

IDLE_SECONDS = 60
"""How long processes wait for the next study before they end."""

SECONDS_TO_ANSWER = 10
"""How long a scheduler may take to answer."""

LIVES = 3
"""How often processes may die before one task is done."""

Key = TypeVar("Key")
Item = TypeVar("Item")
Result = TypeVar("Result")


class WorkersLost(RuntimeError):
    """The processes that do the work died, or a cluster cannot be used."""


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

    def drop(self, futures: Iterable[Future[Any]]) -> None:
        """Nobody wants any more what is still being worked on."""
        if self.client is not None:
            for future in futures:
                future.cancel()
        elif self.count > 1:
            # These are ended, not cancelled: loky would complain of what becomes of the futures.
            self.executor.shutdown(wait=False, kill_workers=True)  # type: ignore[call-arg]


def _belong_to(parent: int) -> None:
    """Leave Ctrl-C to the process that started this one, and end when that one is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(1)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def cores() -> int:
    """How many cores this process may use."""
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
        yield Workers(count)
        return
    with _client(scheduler) as client:
        yield Workers(_checked(client, scheduler), client)


@contextmanager
def _client(scheduler: str) -> Iterator[Any]:
    try:
        from distributed import Client
        from distributed.comm.addressing import parse_host_port
    except ImportError as error:
        raise WorkersLost(
            "a scheduler needs the package 'distributed': pip install 'gridcrux[cluster]'"
        ) from error
    try:
        # A client that never was connected complains when it goes, so first somebody else knocks.
        host, port = parse_host_port(scheduler.rpartition("://")[2])
        socket.create_connection((host, port), SECONDS_TO_ANSWER).close()
        client = Client(scheduler, timeout=SECONDS_TO_ANSWER, set_as_default=False)
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


def in_order(
    work: Callable[[Item], Result], items: Iterable[tuple[Key, Item]], workers: Workers
) -> Generator[tuple[Key, Result]]:
    """Work on items side by side and give back what comes of each, in their order.

    Only a few items are taken ahead, so there may be any number of them.

    Parameters
    ----------
    work : what is done with an item; other processes import it by its name.
    items : each with whatever is wanted back with its result.

    Raises
    ------
    WorkersLost : the processes died again and again over one item.
    """
    waiting: deque[tuple[Key, Item, Future[Result]]] = deque()
    # In this process nothing is gained by having an item done before it is its turn.
    ahead = 2 * workers.count + 1 if workers.count > 1 or workers.client else 0

    def first() -> tuple[Key, Result]:
        lives = LIVES
        while True:
            key, item, future = waiting[0]
            try:
                result = future.result()
            except BrokenExecutor as error:
                lives -= 1
                if not lives:
                    raise _lost(item, LIVES) from error
                workers.start()
                again = [(k, i, workers.executor.submit(work, i)) for k, i, _ in waiting]
                waiting.clear()
                waiting.extend(again)
            except Exception as error:
                # A cluster says in its own words that workers died or the scheduler is gone.
                foreign = type(error).__module__.startswith(("distributed", "concurrent"))
                if workers.client is None or not foreign:
                    raise
                raise _lost(item, None, error) from error
            else:
                waiting.popleft()
                return key, result

    try:
        for key, item in items:
            waiting.append((key, item, _submit(workers, work, item)))
            if len(waiting) > ahead:
                yield first()
        while waiting:
            yield first()
    finally:
        if waiting:
            workers.drop(future for _, _, future in waiting)


def _submit(workers: Workers, work: Callable[[Item], Result], item: Item) -> Future[Result]:
    try:
        return workers.executor.submit(work, item)
    except BrokenExecutor as error:
        # It is noticed when its turn comes, and begun again with all that waits.
        future: Future[Result] = Future()
        future.set_exception(error)
        return future


def _lost(item: object, times: int | None, error: Exception | None = None) -> WorkersLost:
    what = f"the processes that worked on {item} died"
    how = f" {times} times" if times else f", or the scheduler did ({type(error).__name__})"
    return WorkersLost(f"{what}{how}; is there memory enough?  The same command goes on from here")

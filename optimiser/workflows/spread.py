"""The jobs of a range in this process, over the cores of this machine, or over a cluster.

Whatever does them, the answers are the same; they come as they are done.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections import deque
from collections.abc import Generator, Sequence
from typing import Any

from optimiser.errors import OptimiserError, UsageError
from optimiser.files.same_program import same_program
from optimiser.workflows.across_job import Done, Job, work

RETRIES = 3
"""How often a job is given to another worker when the one that had it is lost."""
FIRST_ANSWER_S = 20.0
LOOKS_EVERY_S = 0.5
IDLE_S = 300.0


def spread(jobs: Sequence[Job], count: int, cluster: str = "") -> Generator[Done, None, None]:
    """The jobs done, in no order. `count` processes here, or the workers of the cluster at that address.

    The workers of a cluster read the worktables from the same folders. Closing the iterator leaves what is
    not begun. Raises UsageError where the cluster's library is missing, OptimiserError where it cannot be
    reached.
    """
    if cluster:
        yield from _on_cluster(jobs, cluster)
    elif count == 1 or len(jobs) < 2:
        yield from map(work, jobs)
    else:
        yield from _on_cores(jobs, min(count, len(jobs)))


def _as_worker(parent: int) -> None:
    """A worker leaves the interrupt to the process that started it, and does not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(LOOKS_EVERY_S)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _on_cores(jobs: Sequence[Job], count: int) -> Generator[Done, None, None]:
    """Over processes of this machine; what a lost process had is done here.

    No more jobs are handed out than the processes take at once, so that little is lost by a stop.
    """
    from concurrent.futures import FIRST_COMPLETED, Future, wait

    from joblib.externals.loky import ProcessPoolExecutor
    from joblib.externals.loky.process_executor import BrokenProcessPool

    pool = ProcessPoolExecutor(
        max_workers=count,
        timeout=IDLE_S,
        initializer=_as_worker,
        initargs=(os.getpid(),),
        env=same_program(),
    )
    left, out = deque(jobs), dict[Future[Done], Job]()
    try:
        while left or out:
            while left and len(out) < 2 * count:
                job = left[0]
                out[pool.submit(work, job)] = job
                left.popleft()
            ready, _ = wait(out, return_when=FIRST_COMPLETED)
            for future in ready:
                done = future.result()
                del out[future]
                yield done
    except BrokenProcessPool:
        yield from map(work, (*out.values(), *left))
    finally:
        pool.shutdown(wait=False, kill_workers=True)


def _on_cluster(jobs: Sequence[Job], address: str) -> Generator[Done, None, None]:
    """Over the workers of a Dask cluster; a job of a lost worker goes to another."""
    try:
        import distributed
    except ImportError:
        raise UsageError(
            "a cluster needs the library it is reached by", "install the extra: formula-optimiser[cluster]"
        ) from None
    library: Any = distributed
    try:
        client = library.Client(address, timeout=FIRST_ANSWER_S, set_as_default=False)
    except (OSError, ValueError) as fault:
        raise OptimiserError(
            f"no cluster answers at {address}", "give the address that its scheduler prints"
        ) from fault
    with client:
        futures = [client.submit(work, job, pure=False, retries=RETRIES) for job in jobs]
        for future in library.as_completed(futures, loop=client.loop):
            try:
                done: Done = future.result()
            except library.KilledWorker as fault:
                raise OptimiserError(
                    f"one formula lost {RETRIES + 1} workers of the cluster", "see what its workers say"
                ) from fault
            yield done

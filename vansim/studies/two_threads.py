"""Marching on two threads: the kernel lets go of the interpreter's lock, so threads share the work and the memory."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")
Progress = Callable[[int, int], None]
"""Called with pieces of work done, and in all."""
WORKERS = 2


def side_by_side(work: Callable[[T], R], items: Iterable[T], progress: Progress | None = None) -> list[R]:
    """Do work on two threads and give the results in order; an interruption drops what has not begun.

    Parameters
    ----------
    work : callable
        Mostly marching, which lets go of the interpreter's lock.
    items : iterable
        One a piece of work.
    progress : callable or None
        Called with pieces done and pieces in all, from the calling thread.

    Returns
    -------
    list
        In the order of the items.
    """
    todo = list(items)
    pool = ThreadPoolExecutor(WORKERS)
    try:
        futures: list[Future[R]] = [pool.submit(work, item) for item in todo]
        done = []
        for future in futures:
            done.append(future.result())
            if progress is not None:
                progress(len(done), len(todo))
        return done
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def one_by_one(work: Callable[[T], R], items: Iterable[T], progress: Progress | None = None) -> list[R]:
    """The same on the calling thread, for work that itself spreads out."""
    todo = list(items)
    done = []
    for item in todo:
        done.append(work(item))
        if progress is not None:
            progress(len(done), len(todo))
    return done

"""Jobs on every core, their results in order: the march lets go of the interpreter's lock."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")
Progress = Callable[[int, int], None]
"""Called with pieces of work done, and in all."""
THREADS = os.cpu_count() or 1
"""Threads where none are asked for: one a core."""


def in_order(work: Callable[[T], R], items: Iterable[T], threads: int = THREADS) -> Iterator[R]:
    """Do work on some threads and give the results in the order of the items.

    Parameters
    ----------
    work : callable
        Mostly marching.
    items : iterable
        One a piece of work; may be endless, it is read as results are taken.
    threads : int
        Pieces at a time; with one, the calling thread does them.

    Yields
    ------
    object
        What `work` made of each item. No more than `threads` + 1 are held at once; an interruption, or no more taking,
        drops what has not begun.
    """
    if threads <= 1:
        yield from map(work, items)
        return
    waiting: deque[Future[R]] = deque()
    pool = ThreadPoolExecutor(threads)
    try:
        for item in items:
            waiting.append(pool.submit(work, item))
            if len(waiting) > threads:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def all_of(
    work: Callable[[T], R], items: Iterable[T], progress: Progress | None = None, threads: int = THREADS
) -> list[R]:
    """`in_order` to its end.

    Parameters
    ----------
    work, items, threads
        As for `in_order`.
    progress : callable or None
        Called with pieces done and pieces in all, from the calling thread.

    Returns
    -------
    list
        In the order of the items.
    """
    todo = list(items)
    done: list[R] = []
    for result in in_order(work, todo, threads):
        done.append(result)
        if progress is not None:
            progress(len(done), len(todo))
    return done

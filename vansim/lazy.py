"""A property that is worked out once for each object, on any thread."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

T = TypeVar("T")


class Lazy(Generic[T]):
    """Like ``functools.cached_property``, but without its lock.

    Until Python 3.12 that lock is shared by all objects of a class, so that many designs looked at side by side would
    wait for one another.
    """

    def __init__(self, make: Callable[[Any], T]) -> None:
        self.make = make
        self.__doc__ = make.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    @overload
    def __get__(self, instance: None, owner: type) -> Lazy[T]: ...

    @overload
    def __get__(self, instance: object, owner: type) -> T: ...

    def __get__(self, instance: object | None, owner: type) -> Lazy[T] | T:
        if instance is None:
            return self
        known = instance.__dict__
        if self.name not in known:
            known[self.name] = self.make(instance)
        value: T = known[self.name]
        return value


lazy = Lazy

"""What is worked out, or imported, only when somebody asks: a property of an object on any thread, a module."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
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


class LaterModule:
    """A module that is imported when something of it is first asked for.

    Parameters
    ----------
    name : str
        Its full name.
    """

    def __init__(self, name: str) -> None:
        self._module_name = name

    def __getattr__(self, name: str) -> Any:
        return getattr(import_module(self._module_name), name)

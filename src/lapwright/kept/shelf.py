"""
A shelf: the results about one thing, such as a log on a track, in a store.

Results are handed out and may be changed by whoever gets them, and what is made of a changed one
must not be kept for an unchanged one.  So before anything is written, everything that was handed
out is looked at again: unless it is as it was, nothing more is kept.  That is done in one go, at
the end or every few seconds.
"""

import time
import weakref
from collections.abc import Callable
from functools import cached_property
from typing import Any, Protocol, Self, TypeVar, cast, overload

from lapwright.kept.arrays import CannotKeep
from lapwright.kept.codec import digest_in, encode, fingerprint
from lapwright.kept.method import method_version
from lapwright.kept.store import Store

T = TypeVar("T")

# So much work may be lost at most if the process dies; looking at everything again takes some
# hundredths of a second.
_EVERY_S = 5.0


class Keep(Protocol):
    """What `Shelf.get` is to those who know of no shelf: `make` is called, or need not be."""

    def __call__(self, name: str, make: Callable[[], T], *about: object) -> T:
        """Return a result."""


def not_kept(name: str, make: Callable[[], T], *about: object) -> T:
    """Make a result, whatever it is called: a `Keep` that keeps nothing."""
    return make()


class Shelf:
    """
    Results about one thing.

    Parameters
    ----------
    store : Store or None
        None to keep nothing.
    *about : object
        What all results depend on; looked at when first needed.
    """

    def __init__(self, store: Store | None, *about: object) -> None:
        self._state = _State(store, about)
        # Written when nobody holds the shelf any more, and at the end of the process.
        weakref.finalize(self, self._state.write)

    @property
    def store(self) -> Store | None:
        """Where results are kept; None where they are not."""
        return self._state.store

    @property
    def about(self) -> str:
        """Digest of what all results depend on; empty where nothing is kept."""
        return self._state.about

    def get(self, name: str, make: Callable[[], T], *about: object) -> T:
        """
        Return a result: as it was kept, or else made now and kept.

        Parameters
        ----------
        name : str
            What is asked.
        make : callable
            Works the answer out.
        *about
            What the answer depends on beside the shelf's own.

        Returns
        -------
        object
            What `make` raises is raised, and not kept.
        """
        return self._state.get(name, make, about)

    def write(self) -> None:
        """Write what is not yet written."""
        self._state.write()


class _State:
    """What a shelf holds; apart from it, so that it can still be written when that is gone."""

    def __init__(self, store: Store | None, about: tuple[object, ...]) -> None:
        self.store = store
        self._about_what = about
        self._about = ""
        # By key: what was handed out, and the digest of what it held then.
        self._given: dict[str, tuple[Any, str]] = {}
        self._unwritten: set[str] = set()
        self._written_s = time.monotonic()

    @property
    def about(self) -> str:
        if self.store is not None and not self._about:
            try:
                self._about = self._now_about()
            except CannotKeep:
                # A reader of others may put anything into a log.
                self.store = None
        return self._about if self.store is not None else ""

    def _now_about(self) -> str:
        return fingerprint(method_version(), *self._about_what)

    def get(self, name: str, make: Callable[[], T], about: tuple[object, ...]) -> T:
        prefix = self.about
        if self.store is None:
            return make()
        key = fingerprint(prefix, name, about)
        if key not in self._given:
            found = self.store.load(key)
            if found is not None:
                self._given[key] = found
        if key in self._given:
            return cast("T", self._given[key][0])
        value = make()
        try:
            self._given[key] = value, digest_in(encode(value))
        except CannotKeep:
            return value
        self._unwritten.add(key)
        if time.monotonic() - self._written_s > _EVERY_S:
            self.write()
        return value

    def write(self) -> None:
        if self.store is None or not self._unwritten:
            return
        self._written_s = time.monotonic()
        try:
            now = {key: encode(value) for key, (value, _) in self._given.items()}
            same = self._now_about() == self._about and all(
                digest_in(data) == self._given[key][1] for key, data in now.items()
            )
        except CannotKeep:
            same = False
        if same:
            for key in self._unwritten:
                self.store.put_bytes(key, now[key])
        else:
            self.store = None
        self._unwritten.clear()


class kept_property(cached_property[T]):
    """
    A result of a thing that has a `shelf`: worked out once, and kept there.

    Otherwise as `functools.cached_property`.
    """

    @overload
    def __get__(self, instance: None, owner: type[Any] | None = None) -> Self: ...

    @overload
    def __get__(self, instance: object, owner: type[Any] | None = None) -> T: ...

    def __get__(self, instance: Any, owner: type[Any] | None = None) -> Any:
        """Return the result; on the class, the property itself."""
        if instance is None:
            return self
        name = self.attrname
        assert name is not None
        known = instance.__dict__
        if name not in known:
            known[name] = instance.shelf.get(name, lambda: self.func(instance))
        return known[name]

"""A shelf: asked once, worked out once; what was changed by others is not kept."""

import gc
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.kept import Shelf, Store, kept_property, not_kept, shelf


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path)


def refuse() -> object:
    pytest.fail("this was to be found, not made")


def test_a_result_is_made_once(store: Store) -> None:
    first = Shelf(store, "log")
    assert first.get("laps", lambda: [1, 2]) == [1, 2]
    assert first.get("laps", refuse) == [1, 2]
    first.write()
    assert Shelf(store, "log").get("laps", refuse) == [1, 2]
    # Asked again, it is the same thing, not one like it.
    again = Shelf(store, "log")
    assert again.get("laps", refuse) is again.get("laps", refuse)


def test_another_thing_another_question_another_circumstance(store: Store) -> None:
    first = Shelf(store, "log")
    first.get("laps", lambda: "a", 5)
    first.write()
    for other, name, about in (
        (Shelf(store, "other log"), "laps", 5), (Shelf(store, "log", 1), "laps", 5),
        (Shelf(store, "log"), "gaps", 5), (Shelf(store, "log"), "laps", 6),
    ):  # fmt: skip
        assert other.get(name, lambda: "b", about) == "b"


def test_another_program_makes_its_own(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    first = Shelf(store, "log")
    first.get("laps", lambda: "a")
    first.write()
    monkeypatch.setattr(shelf, "method_version", lambda: "newer")
    assert Shelf(store, "log").get("laps", lambda: "b") == "b"


def test_without_a_store_nothing_is_kept(tmp_path: Path) -> None:
    none = Shelf(None, "log")
    assert [none.get("laps", lambda k=k: k) for k in (1, 2)] == [1, 2]
    assert (none.about, none.store) == ("", None)
    assert not list(tmp_path.iterdir())
    assert not_kept("laps", lambda: 3) == 3


def test_what_is_raised_is_not_kept(store: Store) -> None:
    first = Shelf(store, "log")
    with pytest.raises(ZeroDivisionError):
        first.get("laps", lambda: 1 / 0)
    assert first.get("laps", lambda: 2) == 2


def test_nothing_is_kept_once_a_result_was_changed(store: Store) -> None:
    first = Shelf(store, "log")
    table = first.get("laps", lambda: pd.DataFrame({"time_s": [94.4, 95.0]}))
    first.write()
    table.loc[0, "time_s"] = 1.0
    # Made of a changed table, so it must not be taken for what the log says.
    assert first.get("best", lambda: float(table["time_s"].min())) == 1.0
    first.write()
    again = Shelf(store, "log")
    assert again.get("best", lambda: 94.4) == 94.4
    assert again.get("laps", refuse)["time_s"].tolist() == [94.4, 95.0]
    # The same where the changed one came from the store.
    again.get("laps", refuse).loc[1, "time_s"] = 2.0
    again.get("worst", lambda: 2.0)
    again.write()
    assert Shelf(store, "log").get("worst", lambda: 95.0) == 95.0


def test_nothing_is_kept_once_the_input_was_changed(store: Store) -> None:
    fixes = np.arange(3.0)
    first = Shelf(store, fixes)
    first.get("laps", lambda: 1)
    fixes[0] = 9.0
    first.write()
    assert Shelf(store, np.arange(3.0)).get("laps", lambda: 2) == 2
    assert Shelf(store, fixes).get("laps", lambda: 2) == 2


def test_a_result_or_an_input_that_cannot_be_kept(store: Store) -> None:
    first = Shelf(store, "log")
    assert callable(first.get("made", lambda: len))
    assert first.get("laps", lambda: 1) == 1
    first.write()
    assert Shelf(store, "log").get("laps", refuse) == 1
    odd = Shelf(store, object())
    assert odd.get("laps", lambda: 5) == 5
    assert odd.store is None


def test_it_is_written_when_nobody_holds_it_any_more(store: Store) -> None:
    first = Shelf(store, "log")
    first.get("laps", lambda: 1)
    assert not list(store.folder.iterdir())
    del first
    gc.collect()
    assert Shelf(store, "log").get("laps", refuse) == 1


def test_it_is_written_every_few_seconds(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    first = Shelf(store, "log")
    first.get("laps", lambda: 1)
    assert not list(store.folder.iterdir())
    monkeypatch.setattr(shelf, "_EVERY_S", -1.0)
    first.get("gaps", lambda: 2)
    assert len(list(store.folder.iterdir())) == 2


class _Thing:
    def __init__(self, store: Store) -> None:
        self.shelf = Shelf(store, "thing")
        self.made = 0

    @kept_property
    def number(self) -> int:
        """A number."""
        self.made += 1
        return 7


def test_a_kept_property(store: Store) -> None:
    one = _Thing(store)
    assert (one.number, one.number, one.made) == (7, 7, 1)
    one.shelf.write()
    other = _Thing(store)
    assert (other.number, other.made) == (7, 0)
    assert _Thing.number.__doc__ == "A number."

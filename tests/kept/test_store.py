"""The folder: whole files or none, damage is as good as none, the least used go first."""

import os
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from lapwright.kept.store import LIMIT_MB, MISSING, USUAL, Store, store_of

KEY = "0123456789abcdef"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "deep" / "cache")


def only_file(store: Store) -> Path:
    (file,) = store.folder.iterdir()
    return file


def test_what_was_put_is_there(store: Store) -> None:
    assert store.get(KEY) is MISSING
    store.put(KEY, (1, 2.5))
    assert store.get(KEY) == (1, 2.5)
    assert Store(store.folder).get(KEY) == (1, 2.5)
    store.put(KEY, None)
    assert store.get(KEY) is None
    assert store.get("other") is MISSING


def test_nobody_else_may_read_it(store: Store) -> None:
    if os.name != "posix":
        pytest.skip("rights of this kind are POSIX")
    store.put(KEY, 1)
    assert store.folder.stat().st_mode & 0o077 == 0
    assert only_file(store).stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("what", ["flip", "cut", "empty", "foreign", "longer"])
def test_a_damaged_file_is_as_good_as_none_and_goes(store: Store, what: str) -> None:
    store.put(KEY, {"a": np.arange(100.0)})
    file = only_file(store)
    data = file.read_bytes()
    middle = len(data) // 2
    flipped = data[:middle] + bytes([data[middle] ^ 1]) + data[middle + 1 :]
    now = {
        "flip": flipped, "cut": data[:-1], "empty": b"", "foreign": b"PK\3\4", "longer": data * 2
    }  # fmt: skip
    file.write_bytes(now[what])
    assert store.get(KEY) is MISSING
    assert not file.exists()
    store.put(KEY, 5)
    assert store.get(KEY) == 5


def test_what_cannot_be_kept_is_not(store: Store) -> None:
    store.put(KEY, object())
    assert store.get(KEY) is MISSING
    assert not store.folder.exists()


def test_a_folder_that_cannot_be_written_is_done_without(tmp_path: Path) -> None:
    # A file where the folder should be: not even the owner of the machine can write into it.
    (tmp_path / "file").touch()
    store = Store(tmp_path / "file" / "cache")
    store.put(KEY, 1)
    assert store.get(KEY) is MISSING
    store.tidy()


def test_the_folder_may_go_at_any_time(store: Store) -> None:
    store.put(KEY, 1)
    only_file(store).unlink()
    store.folder.rmdir()
    assert store.get(KEY) is MISSING
    store.put(KEY, 2)
    assert store.get(KEY) == 2


def test_a_write_that_fails_leaves_nothing(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    store.put(KEY, 1)

    def full(_path: Path, _target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    store.put(KEY, 2)
    assert store.get(KEY) == 1
    assert len([*store.folder.iterdir()]) == 1


def test_many_writers_of_one_result(store: Store) -> None:
    value = np.arange(5000.0)

    def work(_: int) -> bool:
        Store(store.folder).put(KEY, value)
        found = Store(store.folder).get(KEY)
        return found is not MISSING and bool((found == value).all())

    with ThreadPoolExecutor(4) as pool:
        assert all(pool.map(work, range(40)))
    assert len([*store.folder.iterdir()]) == 1


def dated(store: Store, key: str, days_ago: float) -> Path:
    store.put_bytes(key, bytes(300_000))
    file = store.folder / f"{key}.kept"
    then = time.time() - 86_400 * days_ago
    os.utime(file, (then, then))
    return file


def test_the_least_used_go_first(tmp_path: Path) -> None:
    store = Store(tmp_path, limit_mb=1.0)
    files = [dated(store, f"{k}", days_ago=k) for k in (1, 2, 3)]
    # Not ours, so it stays, however old and large.
    foreign = tmp_path / "holiday.jpg"
    foreign.write_bytes(bytes(2_000_000))
    os.utime(foreign, (0.0, 0.0))
    store.tidy()
    assert all(file.exists() for file in files)
    newest = dated(store, "0", days_ago=0)
    store.tidy()
    # 1.2 MB are too much; 0.9 are allowed then.
    assert [file.exists() for file in (newest, *files)] == [True, True, True, False]
    assert foreign.exists()


def test_a_result_that_is_used_counts_as_new(store: Store) -> None:
    store.put(KEY, 1)
    file = only_file(store)
    os.utime(file, (0.0, 0.0))
    store.get(KEY)
    assert time.time() - file.stat().st_mtime < 60.0


def test_it_is_tidied_after_the_first_write_of_a_process(tmp_path: Path) -> None:
    old = dated(Store(tmp_path), "old", days_ago=9)
    dated(Store(tmp_path), "new", days_ago=1)
    Store(tmp_path, limit_mb=0.5).put(KEY, 1)
    assert not old.exists()


def test_it_is_tidied_again_whenever_much_was_written(tmp_path: Path) -> None:
    store = Store(tmp_path, limit_mb=2.0)
    for k in range(40):
        store.put_bytes(f"{k}", bytes(100_000))
    assert sum(file.stat().st_size for file in tmp_path.iterdir()) <= 2_300_000


def test_what_lasts_goes_after_all_others(tmp_path: Path) -> None:
    store = Store(tmp_path, limit_mb=0.5)
    store.put_lasting(KEY, "a result")
    os.utime(only_file(store), (0.0, 0.0))
    for k in range(5):
        dated(store, f"{k}", days_ago=k)
    store.tidy()
    assert store.get_lasting(KEY) == "a result"
    assert store.get(KEY) is MISSING
    # But it is bounded as well.
    Store(tmp_path, limit_mb=0.0).tidy()
    assert not [*tmp_path.iterdir()]


def test_parts_of_the_dead_are_swept_up(store: Store) -> None:
    store.put(KEY, 1)
    dead, alive = store.folder / ".part-dead", store.folder / ".part-alive"
    dead.touch()
    alive.touch()
    os.utime(dead, (0.0, 0.0))
    store.tidy()
    assert (dead.exists(), alive.exists()) == (False, True)


def test_which_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LAPWRIGHT_CACHE", str(tmp_path / "mine"))
    found = store_of(USUAL)
    assert found is not None
    assert found.folder == tmp_path / "mine"
    assert store_of(None) is None
    assert store_of(found) is found
    given = store_of(tmp_path / "given")
    assert given is not None
    assert given.folder == tmp_path / "given"
    for off in ("off", "OFF"):
        monkeypatch.setenv("LAPWRIGHT_CACHE", off)
        assert store_of(USUAL) is None
    monkeypatch.delenv("LAPWRIGHT_CACHE")
    # XDG Base Directory Specification 0.8: $XDG_CACHE_HOME holds what may be deleted.
    if os.name == "posix" and os.uname().sysname == "Linux":
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
        usual = store_of(USUAL)
        assert usual is not None
        assert usual.folder == tmp_path / "xdg" / "lapwright"


@pytest.mark.parametrize(
    ("said", "limit"), [("64", 64.0), ("0.5", 0.5), ("-1", 0.0), ("much", LIMIT_MB), ("", LIMIT_MB)]
)
def test_the_limit(said: str, limit: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LAPWRIGHT_CACHE_MB", said)
    assert Store("nowhere").limit_mb == limit

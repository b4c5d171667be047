"""What a weekend keeps of each log: by content, at once, and never of another circuit."""

import shutil
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from lapwright.batch import run_weekend
from lapwright.batch.kept_results import UNREADABLE, KeptJob, digest, key_of, look_at_and_keep
from lapwright.batch.worker import Job, Result
from lapwright.discovery import complete_track
from lapwright.geometry import read_track, write_track
from lapwright.ingest import read_log
from lapwright.kept import MISSING, Store

OPTIONS = {"repeat_line": False, "workers": 1}


def test_a_folder_that_was_moved_or_copied_is_still_known(folder: Path, tmp_path: Path) -> None:
    track = folder / "track.geojson"
    first = run_weekend(folder, track=track, **OPTIONS)
    assert (first.done, first.kept) == (2, 0)
    moved = tmp_path / "moved"
    shutil.move(folder, moved)
    again = run_weekend(moved, track=moved / "track.geojson", **OPTIONS)
    assert (again.done, again.kept) == (0, 2)
    times = [one.laps.drop(columns=["log"]) for one in (first, again)]
    pd.testing.assert_frame_equal(*times, check_exact=True)
    # Nothing is kept beside the results.
    assert sorted(file.name for file in again.out.iterdir() if file.is_dir()) == ["circuits"]


def test_without_the_cache_all_logs_are_looked_at_anew(folder: Path) -> None:
    options = {"track": folder / "track.geojson", **OPTIONS}
    first = run_weekend(folder, **options)
    none = run_weekend(folder, cache=None, **options)
    assert (none.done, none.kept) == (2, 0)
    pd.testing.assert_frame_equal(first.laps, none.laps, check_exact=True)
    other = run_weekend(folder, cache=folder.parent / "another", **options)
    assert (other.done, other.kept) == (2, 0)
    assert list((folder.parent / "another").iterdir())


def test_a_result_is_kept_as_soon_as_its_log_is_done(folder: Path) -> None:
    options = {"track": folder / "track.geojson", **OPTIONS}

    def stop(path: Path, _: Result) -> None:
        if path.name == "friday.csv":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_weekend(folder, progress=stop, **options)
    again = run_weekend(folder, **options)
    assert (again.done, again.kept) == (1, 1)


def test_whoever_does_a_log_keeps_it(folder: Path) -> None:
    # The run that waits for it may be gone by then.
    store = Store(folder.parent / "mine")
    job = Job(folder / "friday.csv", folder / "track.geojson", repeat_line=False, store=store)
    key = key_of(job, None)
    result = look_at_and_keep(KeptJob(job, key, folder / "circuits"))
    kept = store.get_lasting(key)
    assert (kept.status, kept.laps) == ("ok", result.laps)
    pd.testing.assert_frame_equal(kept.passes, result.passes)
    bad = replace(job, path=folder / "nothing.csv")
    assert look_at_and_keep(KeptJob(bad, "bad", folder / "circuits")).status == "failed"
    assert store.get("bad") is MISSING


def test_a_result_on_a_circuit_that_was_found_counts_only_beside_that_circuit(
    folder: Path,
) -> None:
    # Else a log that joins later would be looked up on another one, and could not be compared.
    first = run_weekend(folder, **OPTIONS)
    assert (first.done, first.kept) == (2, 0)
    elsewhere = run_weekend(folder, folder / "other", **OPTIONS)
    assert (elsewhere.done, elsewhere.kept) == (2, 0)
    pd.testing.assert_frame_equal(elsewhere.laps, first.laps, check_exact=True)
    again = run_weekend(folder, **OPTIONS)
    assert (again.done, again.kept) == (0, 2)
    (circuit,) = (first.out / "circuits").iterdir()
    circuit.write_text(circuit.read_text().replace("Wren Hollow", "Wren Other"))
    renamed = run_weekend(folder, **OPTIONS)
    assert (renamed.done, renamed.kept) == (2, 0)
    assert set(renamed.sessions["track"]) == {"Wren Other"}


def test_the_name_of_a_track_file_is_the_name_of_its_circuit(folder: Path) -> None:
    lines, track = folder / "track.geojson", folder / "whole.geojson"
    write_track(complete_track(read_track(lines), read_log(folder / "friday.csv")), track)
    track.write_text(track.read_text().replace('"Wren Hollow"', '""'))
    first = run_weekend(folder, track=track, **OPTIONS)
    again = run_weekend(folder, track=track.rename(folder / "hollow.geojson"), **OPTIONS)
    assert set(first.sessions["track"]) == {"whole"}
    assert set(again.sessions["track"]) == {"hollow"}


def test_a_file_that_cannot_be_read_has_a_digest_all_the_same(tmp_path: Path) -> None:
    assert digest(tmp_path / "nothing.csv").startswith(UNREADABLE)
    # SHA-256 of nothing: FIPS 180-4 example values, NIST (SHA256ShortMsg.rsp, Len = 0).
    (tmp_path / "empty.csv").touch()
    assert digest(tmp_path / "empty.csv").startswith("e3b0c44298fc1c149afbf4c8996fb924")

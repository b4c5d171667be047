"""Files that cannot be used: one line that says what, where and what to do."""

import gzip
import importlib
from dataclasses import replace

import pytest

from lapwright.errors import LapwrightError, LogError
from lapwright.ingest import read_log
from lapwright.ingest.read import read_kept
from lapwright.ingest.registry import read_built_in
from lapwright.kept import Store
from lapwright.kept.codec import encode

read = importlib.import_module("lapwright.ingest.read")

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8


@pytest.fixture
def good(tmp_path, make_drive, iso, write_csv):
    drive = make_drive()
    columns = [
        iso(drive.time_ns),
        [f"{value:.7f}" for value in drive.lat_deg],
        [f"{value:.7f}" for value in drive.lon_deg],
        [f"{value:.3f}" for value in drive.speed_mps],
    ]
    return write_csv(tmp_path / "good.csv", ["time", "lat", "lon", "speed (m/s)"], columns)


def refused(path, *words: str) -> LogError:
    with pytest.raises(LogError) as caught:
        read_log(path)
    message = str(caught.value)
    assert "\n" not in message
    assert str(path) in message
    for word in words:
        assert word in message
    # It says what to do: a second sentence.
    assert caught.value.hint
    return caught.value


def test_missing_path(tmp_path) -> None:
    refused(tmp_path / "nothing.csv", "no such file", "Check the name")


def test_folder(tmp_path) -> None:
    refused(tmp_path, "folder", "Give one log file")


@pytest.mark.parametrize("content", [b"", b"\n \r\n\t", bytes(500)])
def test_empty_file(tmp_path, content: bytes) -> None:
    path = tmp_path / "empty.csv"
    path.write_bytes(content)
    refused(path, "empty" if not content else "nothing but blanks", "again")


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (PNG, "PNG"),
        (b"\xff\xd8\xff\xe0" + bytes(range(256)) * 4, "JPEG"),
        (b"%PDF-1.7\n" + bytes(range(256)) * 4, "PDF"),
        (b"PK\x03\x04" + bytes(range(256)) * 4, "ZIP"),
        (bytes(range(256)) * 20, "binary"),
        (b'{"laps": [1, 2]}', "JSON"),
        (b"<!DOCTYPE html><html><body>x</body></html>", "HTML"),
        (b'<?xml version="1.0"?><kml><Document/></kml>', "XML"),
    ],
)
def test_what_is_no_log(tmp_path, content: bytes, word: str) -> None:
    path = tmp_path / "thing.csv"
    path.write_bytes(content)
    refused(path, word, "CSV, GPX or NMEA")


def test_csv_without_positions_comes_with_a_map_to_fill_in(tmp_path) -> None:
    path = tmp_path / "engine.csv"
    path.write_text("time,rpm,oil\n" + "".join(f"{k / 10},3000,90\n" for k in range(50)))
    error = refused(path, "latitude", '"time", "rpm", "oil"', 'time = "time"', "--columns")
    assert error.line == 1


def test_unknown_header_is_shown_as_read(tmp_path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("alpha;beta;gamma\n" + "".join(f"{k};51.{k:03d};7.1\n" for k in range(50)))
    refused(path, '"alpha", "beta", "gamma"', 'latitude = "?"')


def test_no_header_at_all(tmp_path) -> None:
    path = tmp_path / "bare.csv"
    path.write_text("".join(f"{k},51.{k:03d},7.1\n" for k in range(50)))
    refused(path, "no header line", '"column 1"')


def test_one_fix(tmp_path) -> None:
    path = tmp_path / "one.csv"
    path.write_text("time,lat,lon\n0.0,51.5,7.1\n")
    refused(path, "only one of 1 records")


def test_positions_without_any_time(tmp_path) -> None:
    path = tmp_path / "untimed.csv"
    path.write_text("time,lat,lon\n" + ",51.5,7.1\n" * 20)
    refused(path, "time")


def test_text_that_is_no_table(tmp_path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear friend,\nthe track was wet all day.\nYours\n")
    refused(path)


def test_gzip_is_unpacked_and_a_cut_one_read_as_far_as_it_goes(tmp_path, good) -> None:
    whole = read_log(good)
    packed = tmp_path / "good.csv.gz"
    packed.write_bytes(gzip.compress(good.read_bytes()))
    assert read_log(packed).fixes.equals(whole.fixes)
    cut = tmp_path / "cut.csv.gz"
    cut.write_bytes(packed.read_bytes()[:-1200])
    log = read_log(cut)
    assert 2 <= len(log.fixes) < len(whole.fixes)
    assert "truncated_end" in {note.code for note in log.findings}
    damaged = tmp_path / "damaged.csv.gz"
    damaged.write_bytes(b"\x1f\x8b" + bytes(60))
    refused(damaged, "gzip", "again")


def test_the_file_is_never_touched(good) -> None:
    before, content = good.stat().st_mtime_ns, good.read_bytes()
    read_log(good)
    assert good.stat().st_mtime_ns == before
    assert good.read_bytes() == content


def test_every_error_is_one_of_ours(tmp_path) -> None:
    # Any bytes give a log or one of our errors, never another exception.
    import random

    rng = random.Random(5)
    alphabet = b"0123456789.,;:-+\n\r\t \"'NSEW$*<>/abcTZ\x00\xff"
    for turn in range(60):
        size = rng.randrange(1, 400)
        path = tmp_path / f"{turn}.csv"
        path.write_bytes(bytes(rng.choice(alphabet) for _ in range(size)))
        try:
            read_log(path)
        except LapwrightError as error:
            assert "\n" not in str(error)  # noqa: PT017


def test_a_log_that_was_read_is_kept_by_what_is_in_the_file(good, tmp_path, monkeypatch) -> None:
    store = Store(tmp_path / "cache")
    first = read_kept(store, good)
    moved = tmp_path / "moved.csv"
    moved.write_bytes(good.read_bytes())
    monkeypatch.setattr(read, "read_built_in", None)
    again = read_kept(store, moved)
    assert again.path == moved
    assert encode(replace(again, path=good)) == encode(first)
    monkeypatch.undo()
    assert encode(first) == encode(read_log(good))
    # A line less is another log; so is the same one by another column map.
    moved.write_bytes(good.read_bytes()[:-200])
    assert len(read_kept(store, moved).fixes) < len(first.fixes)
    reads = []
    monkeypatch.setattr(read, "read_built_in", lambda *a: reads.append(a) or read_built_in(*a))
    mapped = tmp_path / "columns.toml"
    for unit in ("m/s", "km/h", "km/h"):
        mapped.write_text(f'[columns]\nspeed = {{ column = "speed (m/s)", unit = "{unit}" }}\n')
        read_kept(store, good, mapped)
    assert len(reads) == 2


def test_a_log_that_grows_while_it_is_read_is_not_kept(good, tmp_path, monkeypatch) -> None:
    store = Store(tmp_path / "cache")
    whole = good.read_bytes()

    def grown(path, columns):
        good.write_bytes(whole)
        return read_built_in(path, columns)

    good.write_bytes(whole[:-500])
    before = good.read_bytes()
    monkeypatch.setattr(read, "read_built_in", grown)
    assert len(read_kept(store, good).fixes) == len(read_log(good).fixes)
    monkeypatch.undo()
    good.write_bytes(before)
    assert len(read_kept(store, good).fixes) == len(read_log(good).fixes)


def test_what_cannot_be_read_is_refused_the_same_way(tmp_path) -> None:
    store = Store(tmp_path / "cache")
    for path in (tmp_path / "nothing.csv", tmp_path):
        with pytest.raises(LogError) as with_store:
            read_kept(store, path)
        with pytest.raises(LogError) as without:
            read_log(path)
        assert str(with_store.value) == str(without.value)

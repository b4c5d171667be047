"""Logs in ZIP archives: read where they are, bounded, and nothing outside."""

import gzip
import zipfile
from pathlib import Path

import pytest

from lapwright.errors import LogError
from lapwright.ingest import archive, read_log
from lapwright.ingest.archive import (
    archive_of,
    content,
    folder_of,
    is_there,
    members,
    name_of,
    outside,
    size_of,
)
from lapwright.ingest.detect import load

LOG = "time_s,lat,lon\n" + "".join(
    f"{k / 5},{-43 + k * 2e-5:.7f},{144 + k * 3e-5:.7f}\n" for k in range(200)
)


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """An archive as a card is packed: logs in a folder, a picture, and what should not be read."""
    file = tmp_path / "Card.ZIP"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("LOGS/run1.csv", LOG)
        packed.writestr("LOGS/run2.csv.gz", gzip.compress(LOG.encode()))
        packed.writestr("photo.jpg", b"\xff\xd8\xff")
        packed.writestr("__MACOSX/LOGS/._run1.csv", "x")
        packed.writestr(".hidden.csv", "x")
        for name in ("../../evil.csv", "/etc/evil.csv", "C:/evil.csv", "..\\evil.csv"):
            packed.writestr(name, LOG)
    return file


def test_a_log_in_an_archive_is_read_as_it_is_beside_it(card: Path, tmp_path: Path) -> None:
    beside = tmp_path / "run1.csv"
    beside.write_text(LOG)
    before = sorted(tmp_path.iterdir())
    wanted = read_log(beside)
    for name in ("LOGS/run1.csv", "LOGS/run2.csv.gz"):
        log = read_log(card / name)
        assert log.path == card / name
        assert log.fixes.equals(wanted.fixes)
    # Nothing was unpacked, and the archive is as it was.
    assert sorted(tmp_path.iterdir()) == before


def test_what_lies_where(card: Path) -> None:
    log = card / "LOGS" / "run1.csv"
    assert members(card) == [log, card / "LOGS" / "run2.csv.gz", card / "photo.jpg"]
    assert archive_of(log) == (card, "LOGS/run1.csv")
    assert (folder_of(log), name_of(log)) == (card.parent, "Card.ZIP/LOGS/run1.csv")
    assert size_of(log) == len(LOG)
    assert is_there(log)
    plain = card.parent / "friday.csv"
    assert archive_of(plain) is None
    assert (folder_of(plain), name_of(plain)) == (card.parent, "friday.csv")
    assert not is_there(plain)
    assert not is_there(card / "LOGS" / "run3.csv")
    assert size_of(plain) == 0


def test_names_that_lead_out_are_not_read(card: Path) -> None:
    assert outside(card) == ["../../evil.csv", "..\\evil.csv", "/etc/evil.csv", "C:/evil.csv"]
    for name in ("../../evil.csv", "C:/evil.csv", "..\\evil.csv"):
        with pytest.raises(LogError, match="leads out of its archive"):
            content(card / name)
    # What lies there outside is not reached either.
    (card.parent / "evil.csv").write_text(LOG)
    with pytest.raises(LogError):
        content(card / "../evil.csv")


def test_a_log_that_is_not_in_it(card: Path) -> None:
    with pytest.raises(LogError, match=r"run3\.csv: there is no such file"):
        read_log(card / "run3.csv")


def test_an_archive_itself_is_no_log(card: Path) -> None:
    with pytest.raises(LogError, match=r"this is a ZIP archive. Name the log in it: .*run1\.csv"):
        read_log(card)


def test_a_bomb_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MAX_UNPACKED_BYTES", 3_000_000)
    monkeypatch.setattr(archive, "MAX_TOTAL_BYTES", 60_000_000)
    file = tmp_path / "bomb.zip"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("run1.csv", b"0" * 4_000_000)
        packed.writestr("run2.csv", b"0" * 2_000_000)
    with pytest.raises(LogError, match=r"run1\.csv: it unpacks to more than 0\.003 GB"):
        content(file / "run1.csv")
    assert len(content(file / "run2.csv")) == 2_000_000
    # One that lies about its size: the directory at the end says 10 bytes.
    lying = tmp_path / "lying.zip"
    data = file.read_bytes()
    said = (4_000_000).to_bytes(4, "little")
    assert data.count(said) == 2
    lying.write_bytes(data.replace(said, (10).to_bytes(4, "little")))
    with pytest.raises(LogError, match="damaged in its archive"):
        content(lying / "run1.csv")


@pytest.mark.parametrize("cut", [0, 40])
def test_a_gzip_bomb_is_stopped_whole_or_cut(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: int
) -> None:
    monkeypatch.setattr(archive, "MAX_UNPACKED_BYTES", 3_000_000)
    file = tmp_path / "bomb.csv.gz"
    packed = gzip.compress(b"0" * 4_000_000)
    file.write_bytes(packed[: len(packed) - cut])
    with pytest.raises(LogError, match=r"unpacks to more than 0\.003 GB"):
        load(file)
    small = tmp_path / "small.csv.gz"
    small.write_bytes(gzip.compress(LOG.encode()) + gzip.compress(LOG.encode()))
    # Two members one after the other are one file: RFC 1952, sec. 2.2.
    assert load(small).decode() == LOG + LOG


@pytest.mark.parametrize("cut", [0, 40])
def test_what_packs_to_next_to_nothing_is_no_log(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: int
) -> None:
    monkeypatch.setattr(archive, "ALWAYS_BYTES", 1_000_000)
    packed = gzip.compress(b"0,0,0\n" * 500_000)
    file = tmp_path / "bomb.csv.gz"
    file.write_bytes(packed[: len(packed) - cut])
    with pytest.raises(LogError, match=r"more than \d+ times its size, too much for the log"):
        load(file)
    card = tmp_path / "card.zip"
    with zipfile.ZipFile(card, "w", zipfile.ZIP_DEFLATED) as archived:
        archived.writestr("run1.csv", b"0,0,0\n" * 500_000)
        # A bomb in a bomb: each is small for the one that unpacks it.
        archived.writestr("run2.gpx.gz", gzip.compress(b"<gpx>" * 500_000))
    for name in ("run1.csv", "run2.gpx.gz"):
        with pytest.raises(LogError, match=r"more than \d+ times its size"):
            read_log(card / name)


def test_a_gzip_file_that_breaks_off_within_a_wrong_check_sum(tmp_path: Path) -> None:
    packed = gzip.compress(LOG.encode())
    file = tmp_path / "run1.csv.gz"
    # The last eight bytes are the check sum and the size: RFC 1952, sec. 2.3.1.
    file.write_bytes(packed[:-8] + b"\0\0\0\0" + packed[-4:-2])
    with pytest.raises(LogError, match="the gzip file is damaged"):
        load(file)


def test_a_name_too_long_for_the_disk_is_not_there() -> None:
    assert not is_there(Path("a" * 5000))
    assert archive_of(Path("a" * 5000 + ".zip") / "run1.csv") is None


def test_a_link_in_an_archive_is_a_text_and_leads_nowhere(tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_text(LOG)
    card = tmp_path / "card.zip"
    with zipfile.ZipFile(card, "w") as archived:
        link = zipfile.ZipInfo("run1.csv")
        # S_IFLNK | 0o777 in the upper half, as Info-ZIP marks a symbolic link (its proginfo/extra).
        link.external_attr = 0o120777 << 16
        archived.writestr(link, "../secret.csv")
    assert content(card / "run1.csv") == b"../secret.csv"
    with pytest.raises(LogError, match="no table of positions"):
        read_log(card / "run1.csv")


def test_more_than_any_card_holds(card: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MAX_MEMBERS", 3)
    with pytest.raises(LogError, match=r"this archive holds 9 files.* at most 3 and"):
        members(card)
    monkeypatch.setattr(archive, "MAX_MEMBERS", 100)
    monkeypatch.setattr(archive, "MAX_TOTAL_BYTES", 1000)
    with pytest.raises(LogError, match="this archive holds 9 files"):
        members(card)


def test_damage(card: Path, tmp_path: Path) -> None:
    data = bytearray(card.read_bytes())
    cut = tmp_path / "cut.zip"
    cut.write_bytes(data[: len(data) // 2])
    with pytest.raises(LogError, match=r"cut\.zip: this ZIP archive is damaged"):
        members(cut)
    with pytest.raises(LogError, match="this ZIP archive is damaged"):
        read_log(cut)
    # A byte in the middle of the first log's packed bytes.
    data[120] ^= 0xFF
    flipped = tmp_path / "flipped.zip"
    flipped.write_bytes(data)
    with pytest.raises(LogError, match="it is damaged in its archive"):
        content(flipped / "LOGS" / "run1.csv")


def test_a_password(card: Path, tmp_path: Path) -> None:
    # APPNOTE.TXT 6.3.10, sec. 4.4.4: bit 0 of the general purpose flags says encrypted; they stand
    # at byte 6 of a local and at byte 8 of a central header.
    data = bytearray(card.read_bytes())
    data[6] |= 1
    data[data.index(b"PK\x01\x02") + 8] |= 1
    locked = tmp_path / "locked.zip"
    locked.write_bytes(data)
    with pytest.raises(LogError, match=r"cannot be read in its archive \(.*password"):
        content(locked / "LOGS" / "run1.csv")

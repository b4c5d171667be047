"""NMEA as it comes, against the reader of whole files."""

from pathlib import Path

import numpy as np
import pytest

import lapwright as lw
from lapwright.live_session.receiving.epochs import Epochs
from lapwright.live_session.receiving.fixes import Fix, InOrder

SAMPLE = "sample_sessions/friday_test_ivo.nmea"


def sample(size: int) -> bytes:
    return Path(SAMPLE).read_bytes()[:size]


def sentence(body: str) -> bytes:
    value = 0
    for byte in body.encode():
        value ^= byte
    return f"${body}*{value:02X}\r\n".encode()


def rmc(time: str, lat: str = "5100.000", date: str = "060226") -> bytes:
    return sentence(f"GPRMC,{time},A,{lat},N,00200.000,E,20.0,90.0,{date},,,A")


def gga(time: str) -> bytes:
    return sentence(f"GPGGA,{time},5100.000,N,00200.000,E,1,9,1.1,80.0,M,0.0,M,,")


def fed(data: bytes, step: int) -> list[Fix]:
    epochs, out = Epochs(), []
    for at in range(0, len(data), step):
        out += epochs.feed(data[at : at + step])
    # Where the last sentence of an epoch is not the one learned, its rest is a repeat.
    order = InOrder()
    return [one for fix in out + epochs.flush() for one, _ in order.take(fix)]


@pytest.mark.parametrize("step", [1, 37, 4096])
def test_the_fixes_are_those_of_the_whole_file(step: int) -> None:
    data = sample(30_000)
    log = lw.read_log(SAMPLE)
    fixes = fed(data, step)
    assert len(fixes) > 100
    at = {round(log.first_fix_s + t, 3): i for i, t in enumerate(log.fixes["time_s"])}
    # The last one may be cut.
    for fix in fixes[:-1]:
        row = log.fixes.iloc[at[round(fix.time_s, 3)]]
        assert fix.lat_deg == row["lat_deg"]
        assert fix.lon_deg == row["lon_deg"]
        assert fix.speed_mps == pytest.approx(row["speed_mps"], abs=1e-9)


def test_after_a_few_epochs_a_fix_comes_with_its_last_sentence() -> None:
    epochs, counts = Epochs(), []
    for i in range(10):
        counts.append(
            [len(epochs.feed(s)) for s in (rmc(f"1000{i:02d}.00"), gga(f"1000{i:02d}.00"))]
        )
    # At first only the next epoch shows that one is over.
    assert counts[1] == [1, 0]
    assert counts[-1] == [0, 1]


def test_a_date_from_one_sentence_holds_for_those_without() -> None:
    epochs = Epochs()
    data = rmc("100000.00") + gga("100000.00") + gga("100001.00") + gga("100002.00")
    fixes = epochs.feed(data) + epochs.flush()
    # 2026-02-06 is day 20490 since 1970: 56 years of 365 days, 14 leap days, 36 days.
    assert [fix.time_s - 20_490 * 86_400 for fix in fixes] == [36_000.0, 36_001.0, 36_002.0]


def test_midnight_without_a_date_is_a_day_later() -> None:
    fixes = fed(b"".join(gga(t) for t in ("235959.00", "000000.00", "000001.00")), 999)
    assert np.diff([fix.time_s for fix in fixes]).tolist() == [1.0, 1.0]
    assert not fixes[0].dated


def test_damage_costs_the_sentence_and_no_more() -> None:
    epochs = Epochs()
    good = [rmc(f"1000{i:02d}.00") for i in range(8)]
    good[3] = good[3].replace(b"5100", b"5900")  # its checksum no longer fits
    good[5] = good[5].replace(b"5100", b"59").split(b"*")[0][:-1] + b"\r\n"  # cut
    good.insert(2, bytes(range(128, 256)) + b"\n")
    fixes = epochs.feed(b"".join(good)) + epochs.flush()
    assert [fix.time_s % 60 for fix in fixes] == [0.0, 1.0, 2.0, 4.0, 6.0, 7.0]
    assert {fix.lat_deg for fix in fixes} == {51.0}
    assert epochs.damaged == 3


def test_rubbish_without_an_end_takes_no_memory() -> None:
    epochs = Epochs()
    for _ in range(1000):
        assert epochs.feed(b"\x00\xff" * 5000) == []
    assert len(epochs._rest) <= 1024
    assert len(epochs.feed(b"\n" + rmc("100000.00")) + epochs.flush()) == 1


def test_a_receiver_without_a_position_is_counted() -> None:
    epochs = Epochs()
    void = sentence("GPRMC,100000.00,V,,,,,,,060226,,,N")
    assert epochs.feed(void) == []
    epochs.flush()
    assert epochs.without_position >= 1

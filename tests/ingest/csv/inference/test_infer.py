"""Headers that say nothing: what is read from the values, what is left open, what is refused."""

import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lapwright import simulate as sim
from lapwright.errors import LogError
from lapwright.ingest import read_log

# Where latitude and longitude could be each other: both below 90, and the cosines differ.
LAT0_DEG, LON0_DEG = 50.1, 8.7
# At 10 Hz: a minute of the out lap, after the car has left its box; half a lap.
HALF_A_LAP = slice(700, 1300)
# Exact conversions (NIST SP 811): one m/s in each unit.
PER_MPS = {"m/s": 1.0, "km/h": 3.6, "mph": 1 / 0.44704, "knots": 3600 / 1852}


def at(fixes: pd.DataFrame, lat0_deg: float, lon0_deg: float) -> pd.DataFrame:
    """Put the same drive at another place."""
    lat, lon = fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy()
    north = lat - lat.mean()
    east = (lon - lon.mean()) * np.cos(np.radians(lat.mean()))
    return fixes.assign(
        lat_deg=lat0_deg + north, lon_deg=lon0_deg + east / np.cos(np.radians(lat0_deg))
    )


@pytest.fixture(scope="module")
def drive():
    """Give a function that receives two laps and a stop at any rate, at any place."""
    run = sim.drive(
        sim.invented("wren_hollow"), sim.LIGHT_CAR, sim.Driver(), sim.Plan((1, 1)), seed=3
    )

    def receive(
        rate_hz: float = 10.0, lat0_deg: float = LAT0_DEG, lon0_deg: float = LON0_DEG, **kinds
    ) -> pd.DataFrame:
        receiver = replace(sim.ORDINARY, rate_hz=rate_hz, **kinds)
        return at(sim.receive(run, receiver, seed=4).fixes, lat0_deg, lon0_deg)

    return receive


def columns_of(
    fixes: pd.DataFrame, time: tuple[float, int] = (1.0, 2), unit: str = "km/h"
) -> dict[str, list[str]]:
    """Write the columns of a log as text: time (scale, decimals) and others beside it."""
    scale, digits = time
    count = len(fixes)
    k = np.arange(count)
    since_s = fixes["stamp_s"] - fixes["stamp_s"].iloc[0] + 7.3
    return {
        "time": [f"{t * scale:.{digits}f}" for t in since_s],
        "lat": [f"{v:.7f}" for v in fixes["lat_deg"]],
        "lon": [f"{v:.7f}" for v in fixes["lon_deg"]],
        "speed": [f"{v * PER_MPS[unit]:.3f}" for v in fixes["speed_mps"]],
        "course": [f"{v:.2f}" for v in fixes["course_deg"]],
        "count": [str(n) for n in k],
        "temperature": [f"{v:.2f}" for v in 80 + 0.01 * k],
        "rpm": [f"{v:.0f}" for v in 2500 + 110 * fixes["speed_mps"] % 3000],
        "satellites": [str(9 + n // 70 % 3) for n in k],
        "battery": [f"{v:.4f}" for v in 13.1 - 0.3 * k / count],
        "height": [f"{v:.1f}" for v in fixes["height_m"]],
        "date": ["150624"] * count,
    }


@pytest.fixture
def write(tmp_path):
    """Give a function that writes named columns, without a header or under another."""

    def writer(
        columns: dict[str, list[str]],
        order: Sequence[str] | None = None,
        header: Sequence[str] | None = None,
        delimiter: str = ",",
        decimal: str = ".",
    ):
        chosen = [columns[name] for name in order or columns]
        rows = [delimiter.join(row).replace(".", decimal) for row in zip(*chosen, strict=True)]
        path = tmp_path / "log.csv"
        path.write_text("\n".join([*([delimiter.join(header)] if header else []), *rows, ""]))
        return path

    return writer


def inferred(log) -> list[str]:
    return [note.message for note in log.findings if note.code == "inferred_columns"]


def check(log, fixes: pd.DataFrame, speed: bool = True) -> None:
    """Hold a log against what was written: seven decimals of a degree, 2 of a second."""
    assert len(log.fixes) == len(fixes)
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(fixes["lat_deg"], abs=1e-7)
    assert log.fixes["lon_deg"].to_numpy() == pytest.approx(fixes["lon_deg"], abs=1e-7)
    since_s = fixes["stamp_s"] - fixes["stamp_s"].iloc[0]
    assert log.fixes["time_s"].to_numpy() == pytest.approx(since_s, abs=0.011)
    assert ("speed_mps" in log.fixes) == speed
    if speed:
        assert log.fixes["speed_mps"].to_numpy() == pytest.approx(fixes["speed_mps"], abs=1e-3)


@pytest.mark.parametrize(
    ("scale", "digits", "unit"),
    [(1.0, 2, "seconds"), (1e3, 0, "milliseconds"), (1e3, 3, "milliseconds"),
     (1e6, 0, "microseconds"), (1e9, 0, "nanoseconds")],
)  # fmt: skip
def test_the_unit_of_time_follows_from_the_rate(drive, write, scale, digits, unit) -> None:
    fixes = drive()
    log = read_log(write(columns_of(fixes, (scale, digits))))
    check(log, fixes)
    assert inferred(log)[0].startswith(f"column 1 taken for the time in {unit}: it rises evenly")


@pytest.mark.parametrize("unit", PER_MPS)
def test_the_unit_of_speed_follows_from_the_positions(drive, write, unit) -> None:
    fixes = drive()
    log = read_log(write(columns_of(fixes, unit=unit)))
    check(log, fixes)
    assert inferred(log)[-1].startswith(f"column 4 taken for the speed in {unit}: ")


@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 25.0])
def test_other_rates(drive, write, rate_hz) -> None:
    fixes = drive(rate_hz)
    check(read_log(write(columns_of(fixes))), fixes)


@pytest.mark.parametrize(
    ("lat0_deg", "lon0_deg"),
    [(60.2, 24.9), (-37.1, 144.9), (0.1, 36.8), (50.1, -0.02), (-23.7, -46.7), (8.7, 50.1)],
)
def test_other_places(drive, write, lat0_deg, lon0_deg) -> None:
    fixes = drive(10.0, lat0_deg, lon0_deg)
    columns = columns_of(fixes)
    check(read_log(write(columns)), fixes)
    check(read_log(write(columns, ["battery", "lon", "speed", "lat", "count", "time"])), fixes)


def test_every_column_found_is_said_with_its_reason(drive, write) -> None:
    fixes = drive()
    columns = columns_of(fixes, (1e3, 0))
    log = read_log(
        write(columns, ["time", "lat", "lon", "height", "speed"], ["t", "y_lat", "x_lon", "h", "v"])
    )
    check(log, fixes)
    top_kmh = 3.6 * np.quantile(fixes["speed_mps"], 0.98)
    said = inferred(log)
    assert [text.split(" taken")[0] for text in said] == [
        'column 2 ("y_lat")', 'column 3 ("x_lon")',
    ]  # fmt: skip
    assert "taken for the latitude: its name hints at it" in said[0]
    assert 'as fast as column 5 ("v") says' in said[0]
    assert float(said[0].split("up to ")[1].split(" km/h")[0]) == pytest.approx(top_kmh, rel=0.05)
    assert [column.read_as for column in log.columns] == [
        "time [ms]", "latitude", "longitude", "channel", "speed",
    ]  # fmt: skip


def test_only_the_time_is_unknown(drive, write) -> None:
    fixes = drive()
    columns = {**columns_of(fixes, (1e3, 0)), "fix": ["3"] * len(fixes)}
    order = ["time", "lat", "lon", "speed", "fix"]
    log = read_log(write(columns, order, ["ms", "latitude", "longitude", "kph", "fix"]))
    check(log, fixes)
    assert len(inferred(log)) == 1
    assert inferred(log)[0].startswith('column 1 ("ms") taken for the time in milliseconds: it')


def test_only_the_unit_of_time_is_unknown(drive, write) -> None:
    fixes = drive()
    order = ["time", "lat", "lon", "speed"]
    header = ["t", "y_lat", "x_lon", "v"]
    # With a decimal a time without a unit is read as seconds: then the car would not move.
    log = read_log(write(columns_of(fixes, (1e3, 1)), order, header))
    check(log, fixes)
    assert inferred(log)[0].startswith('column 1 ("t") taken for the time in milliseconds')


def test_only_one_angle_is_unknown(drive, write) -> None:
    fixes = drive()
    order = ["time", "battery", "lat", "lon"]
    log = read_log(write(columns_of(fixes), order, ["time", "u", "latitude", "q"]))
    check(log, fixes, speed=False)
    assert len(inferred(log)) == 1
    assert inferred(log)[0].startswith('column 4 ("q") taken for the longitude')


def test_names_that_hint_stand_against_names_that_do_not(drive, write) -> None:
    fixes = drive(10.0, -37.1, 144.9)
    columns = columns_of(fixes)
    # A second receiver, two metres further north.
    columns |= {"north": [f"{v + 2e-5:.7f}" for v in fixes["lat_deg"]], "east": columns["lon"]}
    order = ["time", "north", "east", "lat", "lon"]
    log = read_log(write(columns, order, ["t", "p", "q", "y_lat", "x_lon"]))
    check(log, fixes, speed=False)
    with pytest.raises(LogError, match="more than one reading"):
        read_log(write(columns, order, ["t", "p", "q", "r", "u"]))


def test_positions_in_whole_numbers(drive, write) -> None:
    fixes = drive()
    columns = columns_of(fixes)
    for name in ("lat", "lon"):
        columns[name] = [str(round(v * 1e7)) for v in fixes[f"{name}_deg"]]
    check(read_log(write(columns)), fixes)


def test_positions_with_letters(drive, write) -> None:
    fixes = drive(10.0, -37.1, 8.7)
    columns = columns_of(fixes)
    columns["lat"] = [f"{-v:.7f} S" for v in fixes["lat_deg"]]
    columns["lon"] = [f"{v:.7f} E" for v in fixes["lon_deg"]]
    check(read_log(write(columns, ["lon", "lat", "time"])), fixes, speed=False)
    # Letters are a name: half a lap is enough.
    short = {name: cells[HALF_A_LAP] for name, cells in columns.items()}
    check(read_log(write(short, ["lon", "lat", "time"])), fixes.iloc[HALF_A_LAP], speed=False)


def test_letters_in_columns_of_their_own(drive, write) -> None:
    fixes = drive(10.0, -37.1, 144.9)
    columns = columns_of(fixes)
    columns["lat"] = [f"{-v:.7f}" for v in fixes["lat_deg"]]
    columns |= {"s": ["S"] * len(fixes), "e": ["E"] * len(fixes)}
    check(read_log(write(columns, ["time", "lat", "s", "lon", "e", "speed"])), fixes)


def test_stamps_of_text_are_the_time(drive, write, iso) -> None:
    fixes = drive()
    since_ns = np.rint((fixes["stamp_s"] - fixes["stamp_s"].iloc[0]).to_numpy() * 1e9)
    begin = np.datetime64("2024-06-15T12:00:00", "ns")
    columns = columns_of(fixes)
    stamps = iso(begin.astype(np.int64) + since_ns.astype(np.int64))
    order = ["count", "time", "lat", "lon", "speed"]
    log = read_log(write({**columns, "time": stamps}, order))
    check(log, fixes)
    assert str(log.start_utc) == "2024-06-15 12:00:00+00:00"
    assert "column 2 taken for the date and time" in inferred(log)[0]


def test_seconds_since_1970_beside_a_running_time(drive, write) -> None:
    fixes = drive()
    columns = columns_of(fixes)
    columns["unix"] = [f"{1_718_450_000 + float(t):.2f}" for t in columns["time"]]
    log = read_log(write(columns, ["time", "unix", "lat", "lon", "speed"]))
    check(log, fixes)
    # 1 718 450 007.3 s after 1970: `date -u -d @1718450007`.
    assert str(log.start_utc)[:19] == "2024-06-15 11:13:27"
    assert "column 2 taken for the time in seconds since 1970" in inferred(log)[0]


def test_a_coarse_clock_with_a_date_beside_a_fine_one(drive, write, iso) -> None:
    fixes = drive()
    columns = columns_of(fixes)
    begin = np.datetime64("2024-06-15T12:00:00", "ns").astype(np.int64)
    since_ns = np.array([float(t) for t in columns["time"]]) * 1e9
    columns["stamp"] = iso(begin + since_ns.astype(np.int64), digits=0)
    log = read_log(write(columns, ["lat", "time", "lon", "stamp", "speed"]))
    check(log, fixes)
    assert str(log.start_utc)[:19] == "2024-06-15 12:00:07"
    assert "finer_time" in {note.code for note in log.findings}


def test_decimal_commas_and_semicolons(drive, write) -> None:
    fixes = drive()
    columns = columns_of(fixes)
    check(read_log(write(columns, delimiter=";", decimal=",")), fixes)
    # Cut at its commas this one has five fields a line instead of four.
    few = ["lat", "lon", "speed", "time"]
    check(read_log(write(columns, few, delimiter=";", decimal=",")), fixes)


def test_blanks_gaps_frozen_stretches_and_spikes(drive, write) -> None:
    fixes = drive(10.0, dropouts=(3, 2.0, 5.0), frozen=(2, 1.0, 2.5), spikes=4, missing=0.02)
    columns = columns_of(fixes)
    columns["rpm"] = [text if n % 2 else "" for n, text in enumerate(columns["rpm"])]
    for row in (200, 201, 900):
        columns["lat"][row] = columns["lon"][row] = ""
    log = read_log(write(columns))
    used = fixes.drop(index=fixes.index[[200, 201, 900]])
    check(log, used)
    assert {"gap", "frozen", "position_spike"} <= {note.code for note in log.findings}


def test_positions_on_some_lines_only(drive, write) -> None:
    fixes = drive(5.0)
    columns = {name: [] for name in ("time", "lat", "lon", "speed", "rpm")}
    start_s = fixes["stamp_s"].iloc[0]
    for stamp, lat, lon, speed in fixes[["stamp_s", "lat_deg", "lon_deg", "speed_mps"]].to_numpy():
        for n in range(10):
            here = n == 0
            columns["time"].append(f"{(stamp - start_s + n * 0.02):.2f}")
            columns["lat"].append(f"{lat:.7f}" if here else "")
            columns["lon"].append(f"{lon:.7f}" if here else "")
            columns["speed"].append(f"{speed * 3.6:.3f}" if here else "")
            columns["rpm"].append(f"{3000 + 7 * n}")
    log = read_log(write(columns))
    assert len(log.fixes) == len(fixes)
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(fixes["lat_deg"], abs=1e-7)


def test_without_speed_a_second_lap_and_a_range_are_enough(drive, write) -> None:
    fixes = drive(10.0, -37.1, 144.9)
    order = ["lon", "height", "time", "lat", "satellites"]
    log = read_log(write(columns_of(fixes), order))
    check(log, fixes, speed=False)
    assert "come round to the same places" in inferred(log)[1]


def test_less_than_a_lap_without_speed_is_no_evidence(drive, write) -> None:
    fixes = drive(10.0, -37.1, 144.9).iloc[HALF_A_LAP]
    assert fixes["speed_mps"].max() > 20
    check(read_log(write(columns_of(fixes), ["time", "lat", "lon", "speed"])), fixes)
    with pytest.raises(LogError, match="there is no header line"):
        read_log(write(columns_of(fixes), ["time", "lat", "lon"]))


def test_a_steady_speed_is_believed_where_it_is_named(make_drive, write) -> None:
    # A circle at 25 m/s: two things that hardly vary always agree.
    circle = make_drive(count=600)
    columns = {
        "time": [f"{(t - circle.time_ns[0]) / 1e9:.2f}" for t in circle.time_ns],
        "lat": [f"{v:.7f}" for v in circle.lat_deg],
        "lon": [f"{v:.7f}" for v in circle.lon_deg],
        "speed": [f"{v:.3f}" for v in circle.speed_mps],
    }
    log = read_log(write(columns, header=["stamp", "a", "b", "speed"]))
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(circle.lat_deg, abs=1e-7)
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(circle.speed_mps, abs=1e-3)
    assert "speed_mps" not in read_log(write(columns)).fixes


def test_both_orders_plausible_is_an_error_that_names_both(drive, write) -> None:
    fixes = drive()
    with pytest.raises(LogError) as caught:
        read_log(write(columns_of(fixes), ["time", "lat", "lon"]))
    text = str(caught.value)
    assert "more than one reading" in text
    assert "column 2 as the latitude, column 3 as the longitude" in text
    assert "column 3 as the latitude, column 2 as the longitude" in text
    assert "--columns columns.toml" in text


def test_where_a_degree_is_as_long_either_way_the_speed_cannot_tell(drive, write) -> None:
    # cos(0.1 deg) and cos(0.3 deg) are 1 to 1e-5: nothing measured can tell these apart.
    fixes = drive(10.0, 0.1, 0.3)
    with pytest.raises(LogError, match="more than one reading"):
        read_log(write(columns_of(fixes), ["time", "lat", "lon", "speed"]))


def test_a_count_of_the_lines_is_no_time(drive, write) -> None:
    header = ["n", "latitude", "longitude", "km/h"]
    # At 5 Hz a fifth of the speed is still that of a car: the column of speed says otherwise.
    for rate_hz in (10.0, 5.0):
        path = write(columns_of(drive(rate_hz)), ["count", "lat", "lon", "speed"], header)
        with pytest.raises(LogError, match=r"no column holds the time\. The header reads"):
            read_log(path)


@pytest.mark.parametrize("factor", [0.05, 0.25, 1.0, 8.0])
def test_a_car_is_neither_too_slow_nor_too_fast(drive, write, factor) -> None:
    # The drive reaches 160 to 180 km/h: four times that is too fast, an eighth too slow.
    fixes = drive()
    columns = columns_of(fixes)
    columns["time"] = [f"{float(t) * factor:.4f}" for t in columns["time"]]
    path = write(columns, ["time", "lat", "lon"], ["a", "latitude", "longitude"])
    if factor == 1.0:
        check(read_log(path), fixes, speed=False)
        return
    with pytest.raises(LogError, match=r"no column holds the time\. The header"):
        read_log(path)


def test_a_count_that_could_be_seconds_is_left_open(drive, write) -> None:
    header = ["n", "latitude", "longitude"]
    for rate_hz in (1.0, 4.0):
        fixes = drive(rate_hz)
        with pytest.raises(LogError) as caught:
            read_log(write(columns_of(fixes), ["count", "lat", "lon"], header))
        assert 'column 1 ("n") as the time in seconds' in str(caught.value)
        assert 'column 1 ("n") as a mere count of the lines' in str(caught.value)


def test_a_count_that_the_speed_confirms_is_seconds(drive, write) -> None:
    fixes = drive(1.0)
    header = ["n", "latitude", "longitude", "km/h"]
    log = read_log(write(columns_of(fixes), ["count", "lat", "lon", "speed"], header))
    check(log, fixes)


def test_a_time_is_taken_before_a_count(drive, write) -> None:
    # At 5 Hz the count, taken for seconds, would give a fifth of the speed: also a speed.
    fixes = drive(5.0)
    header = ["n", "stamp", "latitude", "longitude"]
    log = read_log(write(columns_of(fixes), ["count", "time", "lat", "lon"], header))
    check(log, fixes, speed=False)


def test_the_column_map_overrides(drive, write, tmp_path) -> None:
    fixes = drive()
    path = write(columns_of(fixes), ["time", "lat", "lon", "speed"])
    mapped = tmp_path / "columns.toml"
    mapped.write_text("[columns]\ntime = 1\nlatitude = 3\nlongitude = 2\n")
    log = read_log(path, columns=mapped)
    assert inferred(log) == []
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(fixes["lon_deg"], abs=1e-7)
    # What it calls a channel is none of the columns that are looked for.
    mapped.write_text("[channels]\nother = 1\n")
    with pytest.raises(LogError, match="there is no header line"):
        read_log(path, columns=mapped)
    mapped.write_text('[channels]\nother = "a"\n')
    path = write(columns_of(fixes), ["time", "lat", "lon", "speed"], ["a", "b", "c", "d"])
    with pytest.raises(LogError, match="no column holds the time"):
        read_log(path, columns=mapped)


def test_a_header_that_is_understood_is_not_looked_behind(drive, write, monkeypatch) -> None:
    def never(*_):
        raise AssertionError

    monkeypatch.setattr("lapwright.ingest.csv.inference.infer._plausible", never)
    fixes = drive()
    order = ["time", "lat", "lon", "speed"]
    header = ["time (s)", "lat", "lon", "speed (km/h)"]
    check(read_log(write(columns_of(fixes), order, header)), fixes)


def weather(count: int, step_s: float) -> dict[str, list[str]]:
    """Write a table of a weather station, smooth and with many decimals."""
    t = np.arange(count) * step_s
    return {
        "time": [f"{v:.1f}" for v in t],
        "temperature": [f"{v:.5f}" for v in 18 + 4 * np.sin(t / 7000)],
        "dew point": [f"{v:.5f}" for v in 9 + 1.5 * np.sin(t / 9000 + 1)],
        "pressure": [f"{v:.2f}" for v in 1013 + np.cos(t / 5000)],
        "wind": [f"{v:.2f}" for v in 12 + 5 * np.sin(t / 300)],
        "rain": [f"{v:.4f}" for v in np.cumsum(np.full(count, 0.0003))],
    }


@pytest.mark.parametrize("step_s", [0.1, 1.0, 5.0, 60.0])
def test_a_weather_table_is_no_log(write, step_s) -> None:
    with pytest.raises(LogError, match=r"says what the columns are\. The header"):
        read_log(write(weather(3000, step_s)))
    columns = weather(3000, step_s)
    with pytest.raises(LogError, match=r"latitude or the longitude\. The header"):
        read_log(write(columns, header=list(columns)))


@pytest.mark.parametrize("kind", ["noise", "walk", "ramp"])
def test_numbers_that_are_no_drive_are_no_log(write, kind) -> None:
    rng = np.random.default_rng(5)
    count = 1500
    columns = {"time": [f"{0.1 * k:.1f}" for k in range(count)]}
    for n in range(5):
        noise = rng.normal(0, 1, count)
        scale = 10.0 ** rng.uniform(-4, 0)
        value = {"noise": noise, "walk": np.cumsum(noise) / 40, "ramp": np.arange(count) / count}
        columns[f"a{n}"] = [f"{v:.6f}" for v in 20 * n + scale * value[kind]]
    with pytest.raises(LogError, match=r"what the columns are\. The header reads"):
        read_log(write(columns))


def test_the_other_columns_of_a_log_are_no_log(drive, write) -> None:
    fixes = drive()
    others = ["time", "speed", "course", "count", "temperature", "rpm", "battery", "height", "date"]
    with pytest.raises(LogError, match=r"what the columns are\. The header reads"):
        read_log(write(columns_of(fixes), others))
    for missing in ("lat", "lon"):
        rest = [name for name in ("time", "lat", "lon", *others[1:]) if name != missing]
        with pytest.raises(LogError, match=r"what the columns are\. The header reads"):
            read_log(write(columns_of(fixes), rest))


def outcome(path):
    """Give the fixes without their lines, or the kind of the error."""
    try:
        log = read_log(path)
    except LogError as error:
        return "open" if "more than one reading" in error.what else "refused"
    wanted = ["time_s", "lat_deg", "lon_deg", "speed_mps", "frozen"]
    return log.fixes[[name for name in wanted if name in log.fixes]]


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data(), place=st.sampled_from([(50.1, 8.7), (0.1, 0.3), (-37.1, 144.9)]))
def test_the_order_of_the_columns_does_not_matter(drive, write, data, place) -> None:
    columns = columns_of(drive(5.0, *place))
    names = data.draw(st.lists(st.sampled_from(sorted(columns)), unique=True, min_size=3))
    shuffled = names.copy()
    random.Random(data.draw(st.integers(0, 99))).shuffle(shuffled)
    first, second = outcome(write(columns, names)), outcome(write(columns, shuffled))
    if isinstance(first, str):
        assert first == second
    else:
        pd.testing.assert_frame_equal(first, second)

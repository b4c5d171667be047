"""Runs that several tests look at; a run is never changed."""

import pytest

from lapwright import simulate as sim


@pytest.fixture(scope="session")
def wren() -> sim.Circuit:
    return sim.invented("wren_hollow")


@pytest.fixture(scope="session")
def short_run(wren: sim.Circuit) -> sim.TrueRun:
    """Two stints of three laps from the pits, nothing special."""
    return sim.drive(wren, sim.LIGHT_CAR, plan=sim.Plan((3, 2)), seed=3)


@pytest.fixture(scope="session")
def eventful_run(wren: sim.Circuit) -> sim.TrueRun:
    """Seven laps, most with a mishap."""
    events = (
        sim.Traffic(2),
        sim.Spin(3, corner=4),
        sim.Off(4, corner=2),
        sim.ShortCut(5, corner=6, last_corner=7),
        sim.Spin(6, station_m=1.0, roll_back_m=5.0),
    )
    return sim.drive(wren, sim.LIGHT_CAR, plan=sim.Plan((7,), events=events), seed=4)

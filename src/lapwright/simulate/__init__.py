"""
Synthetic sessions with exact truth, for demo data and for tests.

This room shares nothing with the estimation it is used to test: it has a plane,
splines and corner finding of its own, and takes only the column names of `ingest`.
Everything comes from a seed; the same seed gives the same numbers.

From a circuit to a log::

    from lapwright import simulate as sim

    circuit = sim.invented("wren_hollow")       # or a random one: sim.invented(7)
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((12,)), seed=1)
    run.laps                                    # the truth: a DataFrame, one row a lap
    run.passes                                  # slowest points, braking, throttle
    run.delta(5, 3, stations_m)                 # true delta of lap 5 against lap 3

    recording = sim.receive(run, sim.ORDINARY, seed=2)
    log = recording.log()                       # a lapwright Log, without a file between
    log.fixes["time_s"] + recording.zero_s      # the stamps, on the axis of run.laps

    sim.write_csv(recording, "friday.csv")      # or write_gpx, write_nmea
    sim.write_track(circuit, "track.geojson")   # start/finish and sector lines
    sim.write_truth(recording, "truth.json")


Signatures
----------
``invented(name: str | int) -> Circuit``
    "wren_hollow", "circle", "oval", "eight", "parallel", or the seed of a random one.
``from_arrays(name, east_m, north_m, *, half_width_m=5, reach_m=10, smooth_sd_m=None,
start_m=None, place=(lat, lon, height), pit=True, box_m=-45, pit_side="right") -> Circuit``
    A circuit of any closed centre line.
``drive(circuit, car=LIGHT_CAR, driver=None, plan=None, seed=0, *, usual_line=True) -> TrueRun``
``receive(run, receiver=ORDINARY, seed=0, *, engine=False, sensors=None) -> Recording``
``TrueRun.laps``, ``.laps_at(gate_m, sector_gates_m=())``
    True laps at the circuit's lines, or cut again at any line:
    ``run.laps_at(circuit.to_plane(gate_deg))`` with ``[[lat, lon], [lat, lon]]``, left end
    first, as an array.
``TrueRun.passes``, ``.delta(lap, reference, station_m)``, ``.elapsed(lap, station_m)``,
``.crossings(gate_m)``, ``.position(t)``, ``.velocity(t)``, ``.acceleration(t)``,
``.speed(t)``, ``.along_across(t)``, ``.progress(t)``, ``.offset(t)``, ``.launch_s``
``Circuit.gates_deg``, ``.length_m``, ``.bends``, ``.usual_line``, ``.place(station, offset)``
``Recording.log() -> Log``, ``.fixes``, ``.zero_s``

Noise kinds for Monte-Carlo tests of error bars are in ``NOISE_KINDS`` (a dict of
`Receiver`); ``dataclasses.replace`` makes further ones.
"""

from lapwright.simulate.circuit.bends import Bend
from lapwright.simulate.circuit.circuits import Circuit, PitLane
from lapwright.simulate.circuit.invented import from_arrays, invented, wren_hollow
from lapwright.simulate.driving.cars import CARS, FAST_CAR, KART, LIGHT_CAR, SALOON, Car
from lapwright.simulate.driving.drive import drive
from lapwright.simulate.driving.driver import (
    STEADY,
    BrakeEarly,
    Driver,
    LateThrottle,
    LineChange,
    LineMigration,
    SlowMinimum,
)
from lapwright.simulate.driving.plan import HeldUp, Off, Plan, ShortCut, Spin, Traffic
from lapwright.simulate.logger.car_sensors import CarSensors
from lapwright.simulate.logger.files import truth_of, write_track, write_truth
from lapwright.simulate.logger.receiver import NOISE_KINDS, ORDINARY, Receiver
from lapwright.simulate.logger.receiving import Recording, receive
from lapwright.simulate.logger.write_csv import CsvStyle, write_csv
from lapwright.simulate.logger.write_gpx import write_gpx
from lapwright.simulate.logger.write_nmea import write_nmea
from lapwright.simulate.truth import TrueRun

__all__ = [
    "CARS",
    "FAST_CAR",
    "KART",
    "LIGHT_CAR",
    "NOISE_KINDS",
    "ORDINARY",
    "SALOON",
    "STEADY",
    "Bend",
    "BrakeEarly",
    "Car",
    "CarSensors",
    "Circuit",
    "CsvStyle",
    "Driver",
    "HeldUp",
    "LateThrottle",
    "LineChange",
    "LineMigration",
    "Off",
    "PitLane",
    "Plan",
    "Receiver",
    "Recording",
    "ShortCut",
    "SlowMinimum",
    "Spin",
    "Traffic",
    "TrueRun",
    "drive",
    "from_arrays",
    "invented",
    "receive",
    "truth_of",
    "wren_hollow",
    "write_csv",
    "write_gpx",
    "write_nmea",
    "write_track",
    "write_truth",
]

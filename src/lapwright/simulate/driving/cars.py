"""The cars of the invented world, as far as a speed profile needs them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Car:
    """
    What a car can do.

    Attributes
    ----------
    name : str
    lateral_mps2 : float
        Grip in a corner. [m/s²]
    braking_mps2 : float
        What a driver uses in a straight line; a little under the grip. [m/s²]
    traction_mps2 : float
        Acceleration at low speed, limited by the driven wheels. [m/s²]
    power_wpkg : float
        Power at the wheels by mass. [W/kg]
    drag_per_m : float
        Deceleration by air divided by speed squared. [1/m]
    wheelbase_m : float
        For the steering channel. [m]
    gears_mps_per_1000rpm : tuple of float
        Speed at 1000 rpm in each gear, for the rpm channel. [m/s]
    redline_rpm : float
    """

    name: str
    lateral_mps2: float
    braking_mps2: float
    traction_mps2: float
    power_wpkg: float
    drag_per_m: float
    wheelbase_m: float = 2.4
    gears_mps_per_1000rpm: tuple[float, ...] = (2.2, 3.5, 4.9, 6.4, 8.0)
    redline_rpm: float = 7200.0


# Round figures of the kind, of no make in particular.
KART = Car("kart", 17.0, 9.5, 5.0, 140.0, 2.4e-3, 1.05, (2.3,), 15500.0)
LIGHT_CAR = Car("light two-seater", 10.5, 8.8, 4.8, 125.0, 7.0e-4, 2.3)
SALOON = Car("saloon", 9.2, 8.2, 4.0, 110.0, 4.5e-4, 2.7, (2.4, 4.0, 5.8, 7.8, 9.8), 7000.0)
FAST_CAR = Car(
    "fast GT", 14.5, 12.5, 6.5, 290.0, 5.5e-4, 2.6, (3.4, 4.8, 6.2, 7.6, 9.0, 10.5), 8200.0
)

CARS = {car.name: car for car in (KART, LIGHT_CAR, SALOON, FAST_CAR)}

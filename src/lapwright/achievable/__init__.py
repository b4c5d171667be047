"""How quick the driver could be with what they already do: a lap from their own envelope."""

from lapwright.achievable.achievable import MIN_LAPS, Achievable, achievable_lap

__all__ = ["MIN_LAPS", "Achievable", "achievable_lap"]

"""One feature of a track file: what it is, and how to name it in an error."""

import math
from typing import Any

from lapwright.errors import shown
from lapwright.escaping.unseen import encodable
from lapwright.geometry.trackfile.lines import FeatureError, Position, line_positions


class Feature:
    """One feature of a known role: its properties, and how to name it in an error."""

    def __init__(self, number: int, role: str, properties: dict[str, Any], geometry: Any) -> None:
        self.role, self.properties, self.geometry = role, properties, geometry
        order = properties.get("order")
        self.where = f"feature {number} ({role}{'' if order is None else f', order {order}'})"

    def positions(self) -> list[Position]:
        """Positions of its line."""
        return line_positions(self.geometry, self.where)

    def number(self, member: str) -> float | None:
        """Return a property that must be a number if it is there."""
        value = self.properties.get(member)
        if value is None:
            return None
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not math.isfinite(value)
        ):
            what = f"{self.where}: member '{member}' is {shown(value)}, not a number"
            raise FeatureError(what)
        return float(value)

    def text(self, member: str) -> str:
        """Return a property that must be text if it is there."""
        value = self.properties.get(member)
        if value is not None and not isinstance(value, str):
            what = f"{self.where}: member '{member}' is {shown(value)}, not text"
            raise FeatureError(what, "Put it in quotes")
        return encodable(value or "")

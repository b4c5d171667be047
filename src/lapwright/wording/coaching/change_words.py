"""How a change and its 95 % interval are said, not by signs."""

from dataclasses import dataclass

from lapwright.coaching.before_after import Difference


@dataclass(frozen=True, slots=True)
class ChangeWords:
    """
    How a change of a quantity is said.

    Attributes
    ----------
    unit : str
    less, more : str
        What a quantity that went down or up has become.
    same : str
    places : int
        Decimal places.
    scale : float
        From SI to the unit.
    """

    unit: str = "s"
    less: str = "quicker"
    more: str = "slower"
    same: str = "as quick"
    places: int = 2
    scale: float = 1.0

    def amount(self, change: float) -> str:
        """
        Say a change.

        Examples
        --------
        >>> said = ChangeWords()
        >>> said.amount(-0.123), said.amount(0.123), said.amount(-0.0049)
        ('0.12 s quicker', '0.12 s slower', 'as quick')
        """
        size = self._size(change)
        return f"{size} {self.unit} {self._word(change)}" if float(size) else self.same

    def interval(self, low: float, high: float) -> str:
        """
        Say an interval in the words of the change, not by signs.

        Examples
        --------
        >>> said = ChangeWords()
        >>> said.interval(-0.41, -0.05), said.interval(-0.24, 0.03), said.interval(-0.001, 0.201)
        ('0.05 to 0.41 s quicker', '0.24 s quicker to 0.03 s slower', '0.00 to 0.20 s slower')
        """
        small, large = sorted((low, high), key=abs)
        if float(self._size(small)) == 0.0 or small * large > 0.0:
            return f"{self._size(small)} to {self._size(large)} {self.unit} {self._word(large)}"
        return f"{self.amount(low)} to {self.amount(high)}"

    def with_interval(self, change: Difference) -> str:
        """Say a change with its 95 % interval."""
        within = self.interval(change.low95, change.high95)
        return f"{self.amount(change.difference)} (95 % interval {within})"

    def _size(self, change: float) -> str:
        return f"{abs(change) * self.scale:.{self.places}f}"

    def _word(self, change: float) -> str:
        return self.less if change < 0.0 else self.more

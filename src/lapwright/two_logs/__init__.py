"""Two logs of one car: clocks aligned by how the car moved, one's channels on the other's laps."""

from lapwright.two_logs.align import Alignment, align_logs
from lapwright.two_logs.join import with_channels_of
from lapwright.two_logs.write import write_log

__all__ = ["Alignment", "align_logs", "with_channels_of", "write_log"]

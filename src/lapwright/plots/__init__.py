"""
Figures: results in, Axes out; nothing is computed here and nothing written.

>>> import lapwright as lw
>>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
>>> ax = lw.plots.lap_times(session.laps)
>>> ax = lw.plots.delta(session.compare(session.typical_lap))
>>> type(ax).__name__
'Axes'
"""

from lapwright.plots.achievable import achievable
from lapwright.plots.channel import channel
from lapwright.plots.corner_speeds import corner_speeds
from lapwright.plots.delta import delta
from lapwright.plots.grip import grip
from lapwright.plots.lap_times import lap_times
from lapwright.plots.ledger import ledger
from lapwright.plots.lines import lines
from lapwright.plots.speed import speed
from lapwright.plots.track_map import speed_map, time_lost_map
from lapwright.plots.track_preview import track_preview

__all__ = [
    "achievable",
    "channel",
    "corner_speeds",
    "delta",
    "grip",
    "lap_times",
    "ledger",
    "lines",
    "speed",
    "speed_map",
    "time_lost_map",
    "track_preview",
]

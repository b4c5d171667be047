"""
Captions for an on-board video: lap, time, delta, speed and corner, as WebVTT or SubRip.

For watching afterwards, in any player.  What is shown is what the session's tables say.

>>> import lapwright as lw
>>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
>>> start_s = lw.captions.video_start_at_line(session, "3:12.4")
>>> table = lw.captions.caption_table(session, start_s)
>>> begins = table[table["lap"] == 1].iloc[0]
>>> f"{begins['video_start_s']:.1f} s", float(begins["lap_time_s"])
('192.4 s', 0.0)
"""

from lapwright.captions.caption_table import caption_table
from lapwright.captions.video_start import video_start_at_line, video_start_at_time
from lapwright.captions.write import write_captions

__all__ = ["caption_table", "video_start_at_line", "video_start_at_time", "write_captions"]

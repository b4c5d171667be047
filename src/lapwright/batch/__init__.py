"""
A whole folder of logs in one go: every lap in one table, and only what changed done again.

`run_weekend` is the door, `write_weekend_report` the page of what it found, `init_notes` prepares
the notes.  `worker` looks at one log in a process of its own, `kept_results` keeps what was found,
`tables` put it together, `pool` survives a process that dies, `folder` tells
logs from other files, `season` puts weekends together, `cluster` finds other machines.
"""

from lapwright.batch.folder import left_out, logs_in
from lapwright.batch.notes_to_fill import init_notes
from lapwright.batch.run import run_weekend
from lapwright.batch.weekend import Weekend
from lapwright.batch.weekend_report import write_weekend_report

__all__ = ["Weekend", "init_notes", "left_out", "logs_in", "run_weekend", "write_weekend_report"]

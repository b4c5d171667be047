"""Columns of what is worth trying, and of what was odd in a log."""

from lapwright.columns.column import Column

WORTH_TRYING = (
    Column("corner", "", "Number of the corner.", shown="json files", holds=int),
    Column("name", "", "Its name, if it has one.", shown="files", holds=str),
    Column("code", "", "`braking`, `minimum_speed`, `throttle` or `line`.", shown="json files",
           holds=str),
    Column("text", "", "What is worth trying, in a sentence.", shown="json files",
           holds=str),
    Column("time_at_stake_s", "s", "What your quicker laps gained there over your usual ones.",
           sd="time_at_stake_sd_s", shown="json files"),
    Column("time_at_stake_sd_s", "s",
           "Error bar (sd) of `time_at_stake_s`: measuring, and how laps vary.",
           shown="json files"),
    Column("evidence", "", "What it rests on, in words.", shown="files", holds=str),
)  # fmt: skip

FINDINGS = (
    Column("code", "", "Which kind, see [the list](reading-logs.md#findings).",
           shown="json files", holds=str),
    Column("message", "", "What was found and what was done about it.",
           shown="json files", holds=str),
    Column("count", "", "How many fixes or places.", shown="json files", holds=int),
    Column("lines", "", "Lines of the file, counted from 1; in JSON pairs of first and last.",
           shown="json files", holds=object),
)  # fmt: skip

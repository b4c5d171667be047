"""What was shown in the session before and is held against this one, in a sentence."""

from lapwright.coaching.carried_on import CarriedOn
from lapwright.geometry import Track
from lapwright.wording.coaching.follow_up import CODE_NAMES
from lapwright.wording.coaching.worth_trying import lap_list
from lapwright.wording.seconds import seconds_with_spread
from lapwright.wording.terms import corner_with_name


def carried_on_text(one: CarriedOn, track: Track, before: str) -> str:
    """
    Say what two sessions together show of one thing.

    Parameters
    ----------
    one : CarriedOn
    track : Track
    before : str
        File name of the session before.

    Returns
    -------
    str
    """
    names = {c.order: c.name for c in track.corners}
    where = corner_with_name(one.item.corner, names.get(one.item.corner, ""))
    then, now = one.before, one.now
    laps = "laps" if len(now.better_laps) > 1 else "lap"
    text = (
        f"{where}, {CODE_NAMES[one.item.code]}: the quicker way of {before} was "
        f"{seconds_with_spread(then.quicker_s, then.sd_s)} quicker then. Today's {laps} nearer to "
        f"it ({lap_list(now.better_laps)}) were "
    )
    quicker = now.quicker_s >= 0.0
    text += (
        f"{seconds_with_spread(abs(now.quicker_s), now.sd_s)} {'quicker' if quicker else 'slower'}."
    )
    if one.together is None:
        what = " and ".join(f'{name} ("{a}" then, "{b}" now)' for name, a, b in one.differs)
        return f"{text} The two are not put together: other {what}."
    low, high = one.together.low95, one.together.high95
    text += f" Both together: {one.together.value:.2f} s ({low:.2f} to {high:.2f} s, 95 % interval)"
    return f"{text}." if one.together.stands else f"{text}, so it could be nothing."

"""
Where to begin next time: what a driver's sessions found worth trying, carried through the others.

A thing is taken from the last session that found it; the two ways of driving are then looked for in
the driver's other sessions on the same surface, see `lapwright.coaching.carried_on`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from lapwright.coaching.carried_on import Seen, carried_on, ways_driven
from lapwright.coaching.pooled import Pooled, pooled
from lapwright.coaching.two_group_test import MIN_COUNT
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.report.weekend.session_facts import SessionFacts

MAX_ITEMS = 3
# With no more laps of the usual way in the last session there is little left in it. Our choice.
_DONE_SHARE = 0.25


@dataclass(frozen=True, eq=False)
class Elsewhere:
    """
    What another session shows of the same two ways.

    Attributes
    ----------
    session : SessionFacts
    seen : Seen
    differs : tuple of str
        What is noted to differ: car, tyres.
    """

    session: SessionFacts
    seen: Seen
    differs: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Begin:
    """
    One thing to begin with.

    Attributes
    ----------
    driver : str
    item : WorthTryingInWords
        As the last session that found it says it.
    found_in : tuple of SessionFacts
        Every session that found it, that one last.
    elsewhere : tuple of Elsewhere
        Sessions with enough runs of either way.
    last : SessionFacts
        The driver's last session with clean laps.
    last_ways : (tuple of int, tuple of int) or None
        Its laps nearer to the better way and nearer to the usual one, where it is another session
        than the one that found it.
    together : Pooled or None
        That session and those of the others with the same car and tyres; None where there is no
        other.
    """

    driver: str
    item: WorthTryingInWords
    found_in: tuple[SessionFacts, ...]
    elsewhere: tuple[Elsewhere, ...]
    last: SessionFacts
    last_ways: tuple[tuple[int, ...], tuple[int, ...]] | None
    together: Pooled | None

    @property
    def worth_s(self) -> float:
        """How much time it is about, a lap. [s]."""
        return self.item.time_at_stake_s if self.together is None else self.together.value

    @property
    def stands(self) -> bool:
        """Whether what the other sessions show leaves it standing."""
        return self.together is None or self.together.stands

    @property
    def done(self) -> bool:
        """Whether the driver's last session went the better way nearly always."""
        if self.last_ways is None:
            return False
        better, usual = map(len, self.last_ways)
        return better >= MIN_COUNT and usual <= _DONE_SHARE * (better + usual)


def where_to_begin(sessions: Sequence[SessionFacts]) -> tuple[Begin, ...]:
    """
    Find what a driver is to begin with.

    Parameters
    ----------
    sessions : sequence of SessionFacts
        Of one driver, on one track and one surface, in order.

    Returns
    -------
    tuple of Begin
        What is not driven yet and stands first, the most time first; three at most.
    """
    last: dict[tuple[int, str], tuple[SessionFacts, WorthTryingInWords]] = {}
    found: dict[tuple[int, str], list[SessionFacts]] = {}
    for one in sessions:
        for item in one.items:
            last[item.corner, item.code] = one, item
            found.setdefault((item.corner, item.code), []).append(one)
    out = [_begin(item, one, sessions, tuple(found[key])) for key, (one, item) in last.items()]
    out.sort(key=lambda begin: (begin.done, not begin.stands, -begin.worth_s))
    return tuple(out[:MAX_ITEMS])


def _begin(
    item: WorthTryingInWords, base: SessionFacts, sessions: Sequence[SessionFacts],
    found_in: tuple[SessionFacts, ...],
) -> Begin:  # fmt: skip
    elsewhere: list[Elsewhere] = []
    alike: list[Seen] = []
    for other in sessions:
        for one in () if other is base else carried_on(base, other, [item]):
            what = tuple(name for name, _, _ in one.differs)
            elsewhere.append(Elsewhere(other, one.now, what))
            if not what:
                # What the session that found it shows comes first, once.
                alike += [one.now] if alike else [one.before, one.now]
    both = pooled([s.quicker_s for s in alike], [s.sd_s for s in alike]) if alike else None
    last = [one for one in sessions if len(one.evidence.passes)][-1]
    ways = None if last is base else ways_driven(base, last, item)
    return Begin(base.driver, item, found_in, tuple(elsewhere), last, ways, both)

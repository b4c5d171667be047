"""Every number in the page's sentences is the one in the session's tables."""

import re
from typing import Any

from page_reading import cards, section, words
from sentence_truth import clean_range, corner_facts, five_lines, how_sure, most_lost
from session_truth import Truth, factor, split_units
from shown import True_, all_wrong, exact, numbers_in, pair
from shown_names import SOURCES, STRETCHES
from table_checks import beside_wrong
from why_truth import evidence_wrong, reason, time_wrong

Report = tuple[Any, Truth, str]


def _labels(truth: Truth) -> dict[str, str]:
    """Names in which a digit is no number, and the corners."""
    track = truth.session.track.name
    return {**truth.labels, truth.session.log.path.name: "", **({track: ""} if track else {})}


# What the driver's channels show is read back in test_driver.py.
OF_THE_DRIVER = re.compile(
    r"You usually coast|You closed the throttle|The \d+ clean laps with more"
)


def test_five_lines(report: Report) -> None:
    page, truth, units = report
    lines = [words(line) for line in page.xpath("//ol[@class='five']/li")]
    true = five_lines(truth, units, lines[3] if len(lines) > 3 else "")
    assert len(lines) == len(true)
    complaints = []
    for text, numbers in zip(lines, true, strict=True):
        complaints += all_wrong(numbers_in(text, _labels(truth)), numbers, text)
    assert complaints == []
    # Speeds and distances are in the units asked for.
    speed, far = split_units(units)
    assert f" {far} along" in lines[0]
    if truth.best is not None:
        assert f" {speed} on lap" in lines[-1]


def test_head_of_the_page(report: Report) -> None:
    page, truth, _ = report
    log = truth.session.log
    said = [words(one) for one in page.xpath("//p[@class='about']/span")]
    assert log.path.name in said
    if log.start_utc is not None:
        assert f"{log.start_utc:%Y-%m-%d %H:%M} UTC" in said
    numbers = numbers_in(said[-1])
    assert all_wrong(numbers, [True_(log.rate_hz), True_(log.duration_s / 60.0)]) == []


def test_worth_trying(report: Report) -> None:
    page, truth, units = report
    items = truth.session.worth_trying
    shown = page.xpath("//ol[@class='tries']/li")
    assert len(shown) == len(items)
    complaints = []
    for element, item in zip(shown, items, strict=True):
        text, stake, proof = (
            words(element.xpath(f"./p[@class='{kind}']")[0])
            for kind in ("try", "stake", "evidence")
        )
        place = f"Corner {item.corner} ({item.name})" if item.name else f"Corner {item.corner}"
        assert text.startswith(place)
        # Its sd holds what laps differ by, so it stands in words, no plus-minus sign before it.
        sd = item.time_at_stake_sd_s
        apart = [True_(item.time_at_stake_s, sd, 3), True_(sd, sd, 3)]
        complaints += all_wrong(numbers_in(stake), apart, stake)
        usual, better = _in_unit(truth, item, units)
        # Rounded towards the usual, so up to a whole digit away.
        spoken = [True_(abs(v), slack=1.0) for v in (better, usual)]
        if item.code == "line":
            spoken = [True_(abs(better - usual), most=1, slack=1.0)]
        laps = [exact(n) for n in item.better_laps]
        body = numbers_in(text.removeprefix(place))
        complaints += all_wrong(body, [*laps, *spoken, *apart], text)
        complaints += _proof_wrong(truth, item, proof)
    assert complaints == []


def _in_unit(truth: Truth, item: Any, units: str) -> tuple[float, float]:
    """Usual and better as they are said: from the corner, from the apex, or as a speed."""
    corner = truth.corners.loc[item.corner]
    if item.code == "minimum_speed":
        scale = factor("speed", units)
        return item.usual * scale, item.better * scale
    zero = {"braking": corner["entry_m"], "throttle": corner["apex_m"], "line": 0.0}[item.code]
    scale = factor("far", units)
    return (item.usual - zero) * scale, (item.better - zero) * scale


def _proof_wrong(truth: Truth, item: Any, text: str) -> list[str]:
    """The counts of the evidence; its ranges lie within the driver's own."""
    numbers = [n.value for n in numbers_in(text) if not isinstance(n, str)]
    better, usual = len(item.better_laps), len(item.usual_laps)
    if numbers[:2] != [better, better + usual] or usual not in numbers:
        return [f"{text}: {better} and {usual} there are"]
    assert set(item.better_laps) | set(item.usual_laps) <= set(truth.clean)
    return []


def test_no_claim_for_what_only_two_laps_show(report: Report) -> None:
    page, truth, _ = report
    tried = {item.corner for item in truth.session.worth_trying}
    # What lies before corner 1 is no corner, and nobody looks for advice there.
    wanted = [n for n in most_lost(truth) if n and n not in tried]
    said = page.xpath("//p[@class='between']")
    assert len(said) == bool(wanted)
    for one in said:
        links = [a.get("href") for a in one.xpath(".//a")]
        assert links == [f"#corner-{n}" for n in wanted]
        assert [a.text_content() for a in one.xpath(".//a")] == [truth.label(n) for n in wanted]


def test_where_the_time_goes_in_words(report: Report) -> None:
    page, truth, _ = report
    part, c = section(page, "ledger"), truth.comparison
    if c is None:
        return
    text = words(part.xpath("./p")[0])
    true = [
        exact(c.lap), pair(c.time_difference_s, c.time_difference_sd_s), exact(c.reference)
    ]  # fmt: skip
    assert all_wrong(numbers_in(text), true, text) == []


def test_cards_in_words(report: Report) -> None:
    page, truth, units = report
    complaints = []
    for corner, card in cards(page).items():
        assert words(card.xpath(".//h3")[0]) == truth.label(corner)
        facts = words(card.xpath(".//p[@class='facts']")[0])
        assert facts.startswith(str(truth.corners.at[corner, "direction"]))
        complaints += all_wrong(numbers_in(facts), corner_facts(truth, corner, units), facts)
        said = [words(p) for p in card.xpath("./div[@class='card-top']/p[not(@class)]")]
        said = [text for text in said if not OF_THE_DRIVER.match(text)]
        complaints += _says_wrong(truth, corner, said, units)
    assert complaints == []


def _says_wrong(truth: Truth, corner: int, said: list[str], units: str) -> list[str]:
    """Lost or gained against the best and why, then the range of the clean runs."""
    complaints, c = [], truth.comparison
    if c is not None:
        text = said.pop(0)
        complaints += time_wrong(text, reason(c, corner)) + evidence_wrong(text, c, corner, units)
    true = clean_range(truth, corner)
    if true:
        complaints += all_wrong(numbers_in(said.pop(0)), true, f"corner {corner}, clean runs")
        there = [n for n in truth.clean if n in truth.laps_through(corner)]
        without = sum(truth.passes[n, corner]["brake_s"] != truth.passes[n, corner]["brake_s"]
                      for n in there)  # fmt: skip
        assert bool(said) == (2 * without > len(there))
    return complaints


def test_two_laps_side_by_side_in_the_cards(report: Report) -> None:
    page, truth, units = report
    c = truth.comparison
    if c is None:
        return
    complaints = []
    for corner, card in cards(page).items():
        complaints += beside_wrong(card, c, {corner: reason(c, corner)}, units)
    assert complaints == []


def test_stretches_below_the_cards(report: Report) -> None:
    page, truth, _ = report
    complaints = []
    for corner, card in cards(page).items():
        spans = card.xpath(".//p[@class='stretches']/span")
        sums = {s: truth.ledger_sum(corner, s) for s in STRETCHES} if truth.comparison else {}
        there = {s: v for s, v in sums.items() if v[0] == v[0]}
        assert [words(one).split()[0] for one in spans] == list(there)
        for one, (stretch, true) in zip(spans, there.items(), strict=True):
            complaints += all_wrong(numbers_in(words(one)), [pair(*true)], f"{corner} {stretch}")
    assert complaints == []


def test_how_sure(report: Report) -> None:
    page, truth, units = report
    lines = [words(line) for line in section(page, "sure").xpath("./ul/li")]
    text = " ".join(line for line in lines if not line.startswith(SOURCES))
    assert all_wrong(numbers_in(text), how_sure(truth, units), text) == []
    speed, far = split_units(units)
    if truth.session.noise.speed_sd_mps is not None:
        assert re.search(rf"\d {re.escape(speed)}\.", text)
    assert f" {far} from fix to fix" in text


def test_findings(report: Report) -> None:
    page, truth, _ = report
    shown = [words(one) for one in page.xpath("//ul[@class='findings']/li")]
    true = truth.session.findings
    assert len(shown) == len(true)
    for text, finding in zip(shown, true, strict=True):
        message = " ".join(finding.message.split())
        assert text[1:].startswith(message[1:])
        lines = [n for ends in finding.lines[:6] for n in dict.fromkeys(ends)]
        rest = numbers_in(text[len(message) :])
        more = [exact(len(finding.lines) - 6)] if len(finding.lines) > 6 else []
        assert all_wrong(rest, [*(exact(n) for n in lines), *more], text) == []


def test_usual_line_is_as_sure_as_its_column_says(report: Report) -> None:
    page, _, _ = report
    for card in cards(page).values():
        caption = words(card.xpath(".//caption")[0])
        row = [words(c) for c in card.xpath(".//tfoot/tr[last()]/td")]
        found = re.search(r"good to about ± (<?[\d.]+) ", caption)
        assert (f"± {found[1]}" if found else "") == row[-2]

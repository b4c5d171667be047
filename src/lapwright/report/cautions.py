"""What every report says about its own limits."""

from lapwright.report.material import Material

CAUTIONS = (
    "This is not official timing. Results, protests and records rest on the organiser's clocks.",
    "It is for closed circuits only, never for public roads and never to compare speeds there.",
    "Nothing here is to be read or worked by the driver at speed. Look at it parked.",
    "It names no safe speed and no safe braking point. Car, tyres, weather and traffic decide, and "
    "organisers, officials and instructors are the ones to follow.",
    "What is worth trying is what the driver's own quicker passes had in common. Approach it in "
    "small steps, and leave it if the day is different.",
    "A difference smaller than twice its error bar is no finding. Best sectors put together were "
    "never driven as one lap.",
    "The logger and its cables must be fixed so that they cannot come loose; the event's "
    "regulations and the scrutineers come first, and some events forbid recording.",
    "A log of positions is personal data: pass it on only with consent.",
)
OTHER_CAVEAT = "Another car, other tyres, another day: shown to look at, not to aim for."


def other_words(material: Material) -> str:
    """
    Say what a comparison that was asked for is, and what the rest of the report compares.

    Parameters
    ----------
    material : Material

    Returns
    -------
    str
    """
    said = [OTHER_CAVEAT] if material.other_log else []
    c = material.comparison
    if c is not None:
        said.append(
            "This comparison stands here alone: where the time goes and the corners' cards "
            f"compare lap {c.lap}, {material.usual_is}, with lap {c.reference}, the best."
        )
    return " ".join(said)

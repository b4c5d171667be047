"""What every report says about its own limits."""

CAUTIONS = (
    "This is not official timing. Results, protests and records rest on the organiser's clocks.",
    "It is for closed circuits only, never for public roads and never to compare speeds there.",
    "Nothing here is to be read or worked by the driver at speed. Look at it parked.",
    "It names no safe speed and no safe braking point. Car, tyres, weather and traffic decide, and "
    "organisers, officials and instructors are the ones to follow.",
    "What is worth trying is what the driver's own quicker passes had in common. Approach it in "
    "small steps, and leave it if the day is different.",
    "A difference smaller than its error bar is no finding. Best sectors put together were never "
    "driven as one lap.",
    "The logger and its cables must be fixed so that they cannot come loose; the event's "
    "regulations and the scrutineers come first, and some events forbid recording.",
    "A log of positions is personal data: pass it on only with consent.",
)
OTHER_CAVEAT = "Another car, other tyres, another day: shown to look at, not to aim for."

"""What every page and screen says about its own limits."""

# Beside every lap time.
NOT_OFFICIAL = "Not official timing; for closed circuits only."
# Beside every speed and every braking place.
BUILD_UP = (
    "From your own laps today. Build up to it; leave it if track, tyres or traffic differ; "
    "officials and your instructor come first."
)
# Beside what is only described.
AS_DRIVEN = (
    "These are your own laps as you drove them. Nothing here says to brake later or to go faster; "
    "officials and your instructor come first."
)
# The report's own list.
CAUTIONS = (
    "This is not official timing. Results, protests and records rest on the organiser's clocks.",
    "It is for closed circuits only, never for public roads and never to compare speeds there.",
    "Nothing here is to be read or operated by the driver at speed. Look at it when parked.",
    "It names no safe speed and no safe braking point. Car, tyres, weather and traffic decide; "
    "organisers, officials and instructors are the ones to follow.",
    "What is worth trying is what the driver's own quicker laps had in common. Approach it in "
    "small steps, and leave it if the day is different.",
    "A difference smaller than twice its ± is not a finding. The best sectors added up were never "
    "driven as one lap.",
    "The logger and its cables must be fixed so that they cannot come loose. The event's "
    "regulations and the scrutineers come first, and some events forbid loggers.",
    "A log of positions is personal data: pass it on only with consent.",
)
# Beside every share of grip.
GRIP = (
    "Grip use is measured against your own limit at that speed and in that direction, from how the "
    "car moved over the ground. Banking and crests load or unload the tyres without showing in it."
)
# On the first captions of a video, and where they are written.
WATCH_AFTERWARDS = "For watching afterwards, never for the driver at speed."
OTHER_CAR = (
    "A different driver, car, set of tyres or day may be the reason: shown to look at, not to aim "
    "for."
)

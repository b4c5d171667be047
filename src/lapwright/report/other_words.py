"""What the comparison that was asked for is, beside the one the rest of the report makes."""

from lapwright.report.report_data import ReportData
from lapwright.wording.cautions import OTHER_CAR
from lapwright.wording.compared import what_differed


def other_words(material: ReportData) -> str:
    """
    Say what a comparison that was asked for is, and what the rest of the report compares.

    Parameters
    ----------
    material : ReportData

    Returns
    -------
    str
    """
    said = [] if material.other is None else what_differed(material.other)
    said += [OTHER_CAR] if material.other_log else []
    c = material.comparison
    if c is not None:
        said.append(
            "This comparison stands on its own: where the time goes and the corner cards "
            f"compare lap {c.lap}, {material.usual_is}, with lap {c.reference}, the best."
        )
    return " ".join(said)

"""Growth stages as a list; the key is the trade's own name."""

from fieldbook.schema import Choice

STAGES = (
    Choice(key="R3", label="R3 milk"),
    Choice(key="R4", label="R4 dough"),
    Choice(key="R5", label="R5 dent"),
    Choice(key="R6", label="R6 black layer"),
    Choice(key="R2", label="R2 blister"),
    Choice(key="R1", label="R1 silk"),
    Choice(key="VT", label="VT tassel"),
    Choice(key="V", label="Before tassel"),
)
MILK_LINES = (
    Choice(key="none", label="No line yet"),
    Choice(key="quarter", label="A quarter down"),
    Choice(key="half", label="Half way"),
    Choice(key="three-quarters", label="Three quarters"),
    Choice(key="base", label="At the base"),
)
STAGE_ORDER = ("V", "VT", "R1", "R2", "R3", "R4", "R5", "R6")


def stage_rank(stage: str) -> int:
    """Return how far a stage is along the season."""
    return STAGE_ORDER.index(stage)


MILK_LINE_SHARES = {
    "none": 0.0,
    "quarter": 0.25,
    "half": 0.5,
    "three-quarters": 0.75,
    "base": 1.0,
}
"""How far the solid starch has come from the crown to the tip, 0 to 1."""

"""From how many ears a gap is named: the lines, and how what visits saw moves them.

All are assumed (the figures ``cause``) and were chosen on simulated fields.
"""

from fieldbook.agronomy.gap_looks import FlowerLooks
from fieldbook.figures import Figures

_SECOND = "second_least_share"


def base_share_line(*, unset: bool, saw: FlowerLooks, figures: Figures) -> float:
    """Return the share of ears from which a base gap is named.

    Beside a tip never set, `unset`, it takes more of them.
    """
    if saw.late:
        return figures.number("cause.late_least_share")
    return figures.number("ears.pattern_least_share" if unset else "cause.inner_least_share")


def base_part_line(saw: FlowerLooks, figures: Figures) -> float:
    """Return how much of what base gaps miss must lie at the very butt."""
    if saw.late:
        return figures.number("cause.late_clipped_base_share_of_loss") if saw.silks_at_risk else 0.0
    if saw.silks_at_risk:
        return figures.number("cause.clipped_base_share_of_loss")
    shed = saw.late is False
    return figures.number(f"cause.{'shed_' if shed else ''}base_share_of_loss")


def tip_line(*, remnants: bool, beside: bool, saw: FlowerLooks, figures: Figures) -> float:
    """Return the share of ears from which a tip gap is named, alone or `beside` another."""
    finished = saw.finished is not None
    if beside:
        return figures.number(f"cause.{'finished_beside_share' if finished else _SECOND}")
    if remnants:
        return figures.number("ears.pattern_least_share")
    return figures.number(f"cause.{'finished' if finished else 'unset'}_least_share")


def stopped_odds(saw: FlowerLooks, figures: Figures) -> float:
    """Return how many times likelier silks that stopped must be than pollen that ended."""
    seen = "finished_" if saw.finished else "late_" if saw.late else ""
    return figures.number(f"cause.{seen}stopped_odds")


def scattered_line(*, lost: bool, edge: bool, saw: FlowerLooks, figures: Figures) -> float:
    """Return the share of ears from which scattered gaps are named.

    Parameters
    ----------
    lost
        The tip was lost after set.
    edge
        A tip gap stands out by itself: a stray grain beyond it leaves a gap inside as well.
    """
    if lost:
        return figures.number("cause.inner_least_share")
    if not edge:
        return figures.number(f"cause.{_SECOND}")
    if saw.clipped:
        return figures.number("cause.clipped_least_share")
    if saw.beetles:
        whole = "whole_" if saw.whole else ""
        return figures.number(f"cause.{whole}beetles_least_share")
    return figures.number(f"cause.{'whole' if saw.whole else 'stray'}_least_share")

"""From a visit's ears to what the field's ears are like, and what each lost. Pure; no files."""

from collections.abc import Sequence

from fieldbook.agronomy.ears import (
    EarRings,
    average_ear,
    field_pattern,
    kernel_set_pct,
    losses,
    mean_over,
)
from fieldbook.agronomy.sampling import sample
from fieldbook.agronomy.yields import kernels_on_ear
from fieldbook.figures import Figures
from fieldbook.forms.ears import Ear
from fieldbook.results.yield_result import EarsResult, LossResult


def kernels(ear: Ear) -> float | None:
    """Return the kernels on an ear; None while a part is missing, or for a bare cob.

    A bare cob is no harvestable ear, so it is not among those that the yield counts.
    """
    if ear.bare_cob or ear.rows_around is None or ear.kernels_set is None:
        return None
    return kernels_on_ear(
        ear.rows_around,
        ear.kernels_set,
        lost_rows=ear.lost_rows or 0,
        opposite_per_row=ear.opposite_set,
    )


def ear_rings(ear: Ear) -> EarRings:
    """Return an ear's kernel places by what became of them; a tick fills the empty parts with 0."""
    parts: list[float | None] = [
        ear.base_blank,
        ear.inside_blank,
        ear.tip_unset,
        ear.tip_aborted,
    ]
    if ear.no_other_gaps is not None:
        parts = [0.0 if part is None else part for part in parts]
    base, inside, unset, aborted = parts
    return EarRings(
        base=base, set=ear.kernels_set, inside=inside, tip_unset=unset, tip_aborted=aborted
    )


def ears_result(
    ears: Sequence[Ear], kernels_on: Sequence[float], figures: Figures
) -> EarsResult | None:
    """Return the means, the losses and the pattern of a visit's ears; None without an ear.

    ``kernels_on`` are the kernels of every ear of which they are known.
    """
    if not ears:
        return None
    counted = sample(kernels_on)
    whole = [ear for ear in ears if not ear.bare_cob]
    rings = [ear_rings(ear) for ear in whole]
    kept = kernel_set_pct(rings)
    picture = average_ear(rings)
    pattern = field_pattern(rings, figures=figures)
    return EarsResult(
        ears=len(ears),
        bare_cobs=len(ears) - len(whole),
        kernels_per_ear=counted.mean if counted else None,
        kernels_per_ear_sd=counted.sd if counted else None,
        rows_around=mean_over([ear.rows_around for ear in whole]).mean,
        kernels_per_row=mean_over([ear.kernels_set for ear in whole]).mean,
        complete_ears=kept.n,
        rings=mean_over([ear.rings for ear in rings]).mean,
        kernel_set_pct=kept.mean,
        loss=_loss(rings),
        pattern=pattern.name if pattern else "unknown",
        share_set=picture.set if picture else (),
        share_unset=picture.never_set if picture else (),
        share_aborted=picture.aborted if picture else (),
        share_scattered=picture.scattered if picture else (),
    )


def _loss(rings: Sequence[EarRings]) -> LossResult:
    loss = losses(rings)
    return LossResult(
        base_rings=loss.base.mean,
        inside_rings=loss.inside.mean,
        tip_unset_rings=loss.tip_unset.mean,
        tip_aborted_rings=loss.tip_aborted.mean,
        base_ears=loss.base.n,
        inside_ears=loss.inside.n,
        tip_unset_ears=loss.tip_unset.n,
        tip_aborted_ears=loss.tip_aborted.n,
    )

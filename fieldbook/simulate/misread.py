"""The errors of a scout who counts the rings of an ear; all chances are assumed."""

from dataclasses import replace

import numpy as np

from fieldbook.simulate.rings import Rings

_OVERLOOKED = 0.1  # of the remnants, taken for places never set


def misread(rings: Rings, rng: np.random.Generator) -> Rings | None:
    """Count an ear: off by one or two now and then, some remnants not seen; None is a bare cob."""
    if not rings.kernels_set:
        return None
    overlooked = int(rng.binomial(rings.tip_aborted, _OVERLOOKED))
    seen = replace(
        rings,
        tip_aborted=rings.tip_aborted - overlooked,
        tip_unset=rings.tip_unset + overlooked,
    )
    return Rings(**{name: _off(value, rng) for name, value in vars(seen).items()})


def _off(count: int, rng: np.random.Generator) -> int:
    step = int(rng.choice((-2, -1, 0, 1, 2), p=(0.03, 0.12, 0.7, 0.12, 0.03)))
    return max(0, count + step) if count else 0
